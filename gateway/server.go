package gateway

import (
	stdlog "log"
	"net/http"
	"runtime"
	"strings"
	"time"

	"github.com/rs/zerolog"
)

// Bounds of the server. Our own choices: a carrier's request has a few hundred
// bytes and is answered within a second. Anything that takes longer is a fault
// or an attack.
const (
	readHeaderTimeout = 5 * time.Second
	readTimeout       = 10 * time.Second
	writeTimeout      = 15 * time.Second
	idleTimeout       = 60 * time.Second
	maxHeaderBytes    = 16 << 10
)

// maxBody is the most that a request's body may hold, in bytes, where a
// channel does not say otherwise.
const maxBody = 64 << 10

// Server makes a server with the bounds that a listener on the open internet
// needs. The caller listens, serves and shuts it down. Connection faults, such
// as TLS faults, go to log, one line a second with a count.
func Server(address string, handler http.Handler, log zerolog.Logger) *http.Server {
	return &http.Server{
		ErrorLog:          stdlog.New(&connectionLog{log: log}, "", 0),
		Addr:              address,
		Handler:           handler,
		ReadHeaderTimeout: readHeaderTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    maxHeaderBytes,
	}
}

// connectionLog writes net/http's messages about connections to our log.
type connectionLog struct {
	log   zerolog.Logger
	lines repeats
}

func (c *connectionLog) Write(text []byte) (int, error) {
	if leftOut, ok := c.lines.say("", time.Now()); ok {
		c.log.Warn().Int("left_out", leftOut).Str("cause", masked(strings.TrimSpace(string(text)))).Msg("connection")
	}
	return len(text), nil
}

// ballast is the number of bytes that are reserved and never written, so that
// they use no memory themselves. The garbage collector runs each time the
// memory in use has doubled. In a small program that is very often, and costs
// processor time. With the ballast it waits until at least 32 MiB of garbage
// have gathered. GOGC works as always.
const ballast = 32 << 20

// Ballast sets memory aside for as long as a process serves, until release.
func Ballast() (release func()) {
	aside := make([]byte, ballast)
	return func() { runtime.KeepAlive(aside) }
}
