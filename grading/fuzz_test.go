package grading_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"

	"threshline/grading"
)

// A number is either refused or written back as the same number.
func FuzzParseDecimal(f *testing.F) {
	for _, s := range []string{"13.8", "-0.0001", "999999999.9999", "1e3", ".5", "", "٣"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := grading.ParseDecimal(s)
		if err != nil {
			if !errors.Is(err, grading.ErrNumber) {
				t.Fatalf("%q: %v", s, err)
			}
			return
		}
		if back, err := grading.ParseDecimal(d.String()); err != nil || back != d {
			t.Fatalf("%q is %d, written %q, read back as %d, %v", s, d, d.String(), back, err)
		}
	})
}

// Readings are either refused, or written and read again as the same bytes.
// Only good JSON is ever accepted, and whatever can be read can be checked.
func FuzzReadings(f *testing.F) {
	for _, s := range []string{wholeInput, byHand, `{}`, `{"moisture":14.0,"values":{"a":1}}`, `{"\u0072ed":1}`, `{"a":{"b":["}"]},"red":1}`, `[`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		r, _, err := grading.ReadJSON(json.NewDecoder(bytes.NewReader(in)))
		if err != nil {
			return
		}
		_ = r.Check()
		b, err := r.MarshalJSON()
		if err != nil || !json.Valid(b) {
			t.Fatalf("%s is written %s, %v", in, b, err)
		}
		again := read(t, string(b))
		if b2, err := again.MarshalJSON(); err != nil || !bytes.Equal(b, b2) {
			t.Fatalf("%s became %s, %v", b, b2, err)
		}
	})
}
