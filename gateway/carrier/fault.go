package carrier

import (
	"errors"
	"fmt"
)

// Faults of a request. All but ErrRefused are the carrier's or the
// configuration's mistake; asking again does not help.
var (
	// ErrMethod: the channel does not take this HTTP method.
	ErrMethod = errors.New("carrier: method not taken")
	// ErrTooLarge: the body is over the channel's limit.
	ErrTooLarge = errors.New("carrier: body too large")
	// ErrMalformed: the body is not what the configured fields need it to be.
	ErrMalformed = errors.New("carrier: malformed body")
	// ErrMissing: a field is not there.
	ErrMissing = errors.New("not found")
	// ErrTwice: a field is there more than once, so nobody can say which counts.
	ErrTwice = errors.New("given more than once")
	// ErrNotText: a field holds a structure where a text or number belongs.
	ErrNotText = errors.New("not a text or number")
	// ErrCharset: a text is not in the charset it is said to be in, or that
	// charset is not known.
	ErrCharset = errors.New("charset")
	// ErrNumber: a sender is neither a number nor a word.
	ErrNumber = errors.New("not a telephone number, a short code or a word")
	// ErrEvent: the session event is none of those configured.
	ErrEvent = errors.New("not a configured event")
	// ErrRefused: the guard did not let the request in.
	ErrRefused = errors.New("carrier: refused")
	// ErrSecret: a secret of the configuration cannot be read.
	ErrSecret = errors.New("secret cannot be had")
	// ErrNoReceipts: the channel has no [channel.receipt].
	ErrNoReceipts = errors.New("carrier: channel takes no receipts")
	// ErrNoSend: the channel has no [channel.send].
	ErrNoSend = errors.New("carrier: channel cannot send")
	// ErrNumberRange: a number is not one that the channel may send to.
	ErrNumberRange = errors.New("carrier: number is outside the ranges that may be sent to")
)

// FieldError says which field could not be read and where it was looked for. It wraps
// one of the faults and holds no value of the request.
type FieldError struct {
	Field string // as the configuration calls it: "from", "text", ...
	Where string // the configured place, such as "form:msisdn"
	Index int    // which message of a batch, from 1; 0 when there is no batch
	Err   error
}

func (e *FieldError) Error() string {
	if e.Index > 0 {
		return fmt.Sprintf("carrier: message %d: field %q at %q: %v", e.Index, e.Field, e.Where, e.Err)
	}
	return fmt.Sprintf("carrier: field %q at %q: %v", e.Field, e.Where, e.Err)
}

func (e *FieldError) Unwrap() error { return e.Err }

// ConfigError says which key of which channel is wrong, and what belongs there.
type ConfigError struct {
	Channel string
	Key     string // such as "read.from"
	Err     error
}

func (e *ConfigError) Error() string {
	return fmt.Sprintf("channel %q: %s: %v", e.Channel, e.Key, e.Err)
}

func (e *ConfigError) Unwrap() error { return e.Err }
