package gateway

import (
	"errors"
	"fmt"

	"github.com/rs/zerolog"

	"threshline/gateway/carrier"
)

// carrierFaults are the faults of reading a request. The first match is used; a
// field's own fault comes before the general one.
var carrierFaults = []struct {
	is error
	fault
}{
	{carrier.ErrRefused, fault{401, "guard", "not authorised", 0, zerolog.WarnLevel}},
	{carrier.ErrMethod, fault{405, "method", "method not allowed", 0, zerolog.WarnLevel}},
	{carrier.ErrTooLarge, fault{413, "too large", "the body is too large", 0, zerolog.WarnLevel}},
	{carrier.ErrCharset, fault{415, "charset", "the text is not in a charset that is known here", 0, zerolog.WarnLevel}},
	{carrier.ErrMissing, fault{400, "missing", "not found", 0, zerolog.WarnLevel}},
	{carrier.ErrTwice, fault{400, "twice", "given more than once", 0, zerolog.WarnLevel}},
	{carrier.ErrNotText, fault{400, "not text", "not a text or number", 0, zerolog.WarnLevel}},
	{carrier.ErrNumber, fault{400, "number", "not a telephone number, a short code or a word", 0, zerolog.WarnLevel}},
	{carrier.ErrEvent, fault{400, "event", "not a configured event", 0, zerolog.WarnLevel}},
	{carrier.ErrMalformed, fault{400, "malformed", "the body is malformed", 0, zerolog.WarnLevel}},
	{carrier.ErrNoReceipts, fault{404, "receipts", "no receipts here", 0, zerolog.WarnLevel}},
}

// carrierFault finds the fault of an error of package carrier. It names the
// wrong field, since the carrier's staff read the answer. The log says where we
// look for the field.
func carrierFault(err error) (f fault, ok bool) {
	for _, row := range carrierFaults {
		if errors.Is(err, row.is) {
			f, ok = row.fault, true
			break
		}
	}
	if field, is := errors.AsType[*carrier.FieldError](err); is {
		if !ok {
			f = fault{400, "field", "not usable", 0, zerolog.WarnLevel}
		}
		f.text = fmt.Sprintf("field %s: %s", field.Field, f.text)
		return f, true
	}
	return f, ok
}
