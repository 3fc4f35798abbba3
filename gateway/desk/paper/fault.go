package paper

import (
	"context"
	"errors"
	"net/http"

	"threshline/session"
)

// InputError is something in an address or form that cannot be; Problem is a
// sentence for whoever sent it.
type InputError struct{ Problem string }

func (e *InputError) Error() string { return "desk: " + e.Problem }

// Wrong makes an InputError.
func Wrong(problem string) error { return &InputError{problem} }

// faults says how an error is answered; the first that fits is taken.
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

// Fault is the status and the sentence that an error is answered with. The
// error itself is for the log only.
func Fault(err error) (status int, text string) {
	if wrong, ok := errors.AsType[*InputError](err); ok {
		return http.StatusBadRequest, wrong.Problem
	}
	for _, f := range faults {
		if errors.Is(err, f.is) {
			return f.status, f.text
		}
	}
	return http.StatusInternalServerError, "Something went wrong on our side. The fault is in the log."
}
