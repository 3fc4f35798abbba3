package gateway

import (
	"net/http"
	"time"
)

// Bounds of the server. Our own choices: a carrier's request is a few hundred
// bytes and is answered within a second, so that whatever needs longer is a
// fault or an attack.
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
// needs. The caller listens, serves and shuts it down.
func Server(address string, handler http.Handler) *http.Server {
	return &http.Server{
		Addr:              address,
		Handler:           handler,
		ReadHeaderTimeout: readHeaderTimeout,
		ReadTimeout:       readTimeout,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       idleTimeout,
		MaxHeaderBytes:    maxHeaderBytes,
	}
}
