package desk

import (
	"context"
	"errors"
	"net/http"

	"threshline/session"
)

// faults says how an error is answered; the first that fits is taken. The
// error itself goes to the log only.
var faults = []struct {
	is     error
	status int
	text   string
}{
	{session.ErrNotFound, http.StatusNotFound, "There is nothing under this address. It may have been mistyped or removed."},
	{session.ErrConflict, http.StatusConflict, "Somebody else changed this meanwhile, so nothing was changed. Look again and repeat what you did."},
	{session.ErrFull, http.StatusInsufficientStorage, "The disk of the gateway is full, so nothing was stored."},
	{session.ErrBusy, http.StatusServiceUnavailable, "The gateway is very busy. Try again in a minute."},
	{session.ErrClosed, http.StatusServiceUnavailable, "The gateway is stopping. Try again in a minute."},
	{context.DeadlineExceeded, http.StatusServiceUnavailable, "This took too long. Try again in a minute."},
}

// fail answers a fault.
func (d *Desk) fail(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, context.Canceled) {
		return // nobody is there to read an answer
	}
	var wrong *inputError
	if errors.As(err, &wrong) {
		d.refuse(w, r, http.StatusBadRequest, wrong.Problem)
		return
	}
	for _, f := range faults {
		if errors.Is(err, f.is) {
			if f.status >= http.StatusInternalServerError {
				d.cfg.Log.Error().Err(err).Str("path", r.URL.Path).Msg("desk")
			}
			d.refuse(w, r, f.status, f.text)
			return
		}
	}
	d.cfg.Log.Error().Err(err).Str("path", r.URL.Path).Msg("desk")
	d.refuse(w, r, http.StatusInternalServerError, "Something went wrong on our side. The fault is in the log.")
}

// inputError is something in an address or form that cannot be; Problem is a
// sentence for whoever sent it.
type inputError struct{ Problem string }

func (e *inputError) Error() string { return "desk: " + e.Problem }
