package gateway

import (
	"net/http"
	"runtime/debug"
	"strconv"
)

// headers of every answer: nobody may frame our answers, guess their type or
// cache them. The desk may set its own headers instead. Names are in canonical
// form; the values are shared by all answers and never changed.
var headers = map[string][]string{
	"X-Content-Type-Options":  {"nosniff"},
	"X-Frame-Options":         {"DENY"},
	"Content-Security-Policy": {"default-src 'none'; frame-ancestors 'none'"},
	"Referrer-Policy":         {"no-referrer"},
	"Cache-Control":           {"no-store"},
}

// requestIDHeader carries our own number of the request, for the log.
const requestIDHeader = "X-Request-Id"

// guarded gives every request an id and every answer the headers. It turns a
// panic into a 500 and a log line, so that one bad request does not stop the
// others.
func (g *Gateway) guarded(next http.Handler) http.Handler {
	run := strconv.FormatUint(g.stamp&0xffffffff, 36)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		for name, values := range headers {
			h[name] = values
		}
		id := run + "-" + strconv.FormatUint(g.requests.Add(1), 36)
		h.Set(requestIDHeader, id)
		defer func() {
			problem := recover()
			if problem == nil {
				return
			}
			if problem == http.ErrAbortHandler {
				panic(problem) // the server's own way to drop a connection
			}
			g.cfg.Metrics.panics.Inc()
			// The value may quote the message, so only its type and the stack are
			// logged.
			g.cfg.Log.Error().Str("request", id).Type("panic", problem).Bytes("stack", debug.Stack()).Msg("panic")
			g.refuse(w, r, "", errPanic)
		}()
		next.ServeHTTP(w, r)
	})
}
