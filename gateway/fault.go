package gateway

import (
	"context"
	"errors"
	"net/http"
	"regexp"
	"strconv"

	"github.com/rs/zerolog"

	"threshline/session"
)

// Faults of the edge itself.
var (
	errNoPath   = errors.New("gateway: no such path")
	errMethod   = errors.New("gateway: method not allowed")
	errChannel  = errors.New("gateway: unknown channel")
	errReceipts = errors.New("gateway: this channel takes no receipts")
	errTooMuch  = errors.New("gateway: too many messages")
	errOverload = errors.New("gateway: too many exchanges under way")
	errNotReady = errors.New("gateway: not ready")
	errPanic    = errors.New("gateway: panic")
	errBody     = errors.New("gateway: the body could not be read")
	errNothing  = errors.New("gateway: no message in the request")
)

// fault is the answer to the outside for an error: a status and a text that
// reveals nothing. The cause goes to the log.
type fault struct {
	status int
	reason string // for the metrics: from this table, so bounded
	text   string
	retry  int           // seconds until to come again; 0 does not say
	level  zerolog.Level // of the line in the log
}

// faults is the one table of errors and their answers to the outside. The first
// match is used.
//
// A full disk is 503, not 507: carriers know 503 as "deliver again", which is
// what has to happen, while few treat 507 as anything but a final failure.
var faults = []struct {
	is error
	fault
}{
	{errNoPath, fault{404, "path", "no such path", 0, zerolog.DebugLevel}},
	{errMethod, fault{405, "method", "method not allowed", 0, zerolog.DebugLevel}},
	{errChannel, fault{404, "channel", "unknown channel", 0, zerolog.WarnLevel}},
	{errReceipts, fault{404, "receipts", "no receipts here", 0, zerolog.WarnLevel}},
	{errTooMuch, fault{429, "limit", "too many messages", 30, zerolog.WarnLevel}},
	{errOverload, fault{503, "overload", "busy, deliver again", 1, zerolog.WarnLevel}},
	{errNotReady, fault{503, "not ready", "not ready", 5, zerolog.WarnLevel}},
	{errPanic, fault{500, "panic", "internal error", 0, zerolog.ErrorLevel}},
	{errBody, fault{400, "body", "the body could not be read", 0, zerolog.WarnLevel}},
	{errNothing, fault{400, "nothing", "no message in the request", 0, zerolog.WarnLevel}},
	{session.ErrBusy, fault{503, "busy", "busy, deliver again", 1, zerolog.WarnLevel}},
	{session.ErrConflict, fault{503, "conflict", "busy, deliver again", 1, zerolog.WarnLevel}},
	{session.ErrFull, fault{503, "full", "cannot store just now, deliver again", 60, zerolog.ErrorLevel}},
	{session.ErrAway, fault{503, "away", "cannot store just now, deliver again", 2, zerolog.ErrorLevel}},
	{session.ErrHalted, fault{503, "halted", "cannot store, deliver again", 30, zerolog.ErrorLevel}},
	{session.ErrClosed, fault{503, "closed", "closing, deliver again", 5, zerolog.WarnLevel}},
	{context.Canceled, fault{503, "gone", "deliver again", 1, zerolog.DebugLevel}},
	{context.DeadlineExceeded, fault{503, "late", "busy, deliver again", 1, zerolog.WarnLevel}},
}

// internal is the answer to the outside for an error that is not in the table.
var internal = fault{500, "internal", "internal error", 0, zerolog.ErrorLevel}

// faultOf finds the fault of an error.
func faultOf(err error) fault {
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return fault{413, "too large", "the body is too large", 0, zerolog.WarnLevel}
	}
	if f, ok := carrierFault(err); ok {
		return f
	}
	for _, row := range faults {
		if errors.Is(err, row.is) {
			return row.fault
		}
	}
	return internal
}

// passing reports whether the same message can be answered later.
func (f fault) passing() bool { return f.status == http.StatusServiceUnavailable }

// refuse answers with an error, counts it, and logs the cause. channel is the
// name of a configured channel or empty, never text from the request.
func (g *Gateway) refuse(w http.ResponseWriter, r *http.Request, channel string, err error) {
	f := faultOf(err)
	g.note(w, channel, f, err)
	h := w.Header()
	h.Set("Content-Type", "text/plain; charset=utf-8")
	if f.retry > 0 {
		h.Set("Retry-After", strconv.Itoa(f.retry))
	}
	if f.status == http.StatusRequestEntityTooLarge {
		h.Set("Connection", "close")
	}
	w.WriteHeader(f.status)
	if r.Method != http.MethodHead {
		_, _ = w.Write([]byte(f.text + "\n"))
	}
}

// note counts a fault, and logs it unless one of the same kind was logged within the
// last second. Faults that we have to repair are always logged.
func (g *Gateway) note(w http.ResponseWriter, channel string, f fault, err error) {
	g.cfg.Metrics.refusals.WithLabelValues(channel, f.reason).Inc()
	leftOut, ok := g.lines.say(channel+" "+f.reason, g.cfg.Now())
	if !ok && f.status != http.StatusInternalServerError {
		return
	}
	line := g.cfg.Log.WithLevel(f.level)
	if leftOut > 0 {
		line = line.Int("left_out", leftOut)
	}
	line.
		Str("request", w.Header().Get(requestIDHeader)).Str("channel", channel).
		Int("status", f.status).Str("reason", f.reason).Str("cause", masked(err.Error())).Msg("request not taken")
}

// longDigits finds what may be a telephone number.
var longDigits = regexp.MustCompile(`[+]?[0-9][0-9 ()-]{4,}[0-9]`)

// masked hides whatever may be a number in an error's text: the log holds no personal
// data, no matter who wrote the error.
func masked(text string) string { return longDigits.ReplaceAllString(text, "***") }
