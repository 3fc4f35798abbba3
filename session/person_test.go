package session_test

import (
	"testing"

	"threshline/session"
)

func TestANameHoldsNoAddress(t *testing.T) {
	for name, want := range map[string]string{
		"www.prizes.example": "www prizes example", "Juma": "Juma", "J. Juma": "J. Juma", "J.Juma": "J Juma",
		"a..b": "a b", "St. Mary Jr.": "St. Mary Jr.", "": "", ".": ".", "win.example now": "win example now",
	} {
		if got := session.NoAddress(name); got != want {
			t.Errorf("%q became %q, want %q", name, got, want)
		}
	}
}
