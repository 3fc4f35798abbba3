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

// Whoever leaves still gets the answers that wait, whoever pays for them, and the
// cautions; nothing that they did not ask for.
func TestWhatWasAskedForIsSentToWhoLeaves(t *testing.T) {
	for purpose, drops := range map[session.Purpose]bool{
		session.Answer: false, session.Greeting: false, session.Further: false, session.Safety: false,
		session.Reminding: true, session.Digest: true, session.Alert: true, session.Alerts: true,
	} {
		if got := (session.Trace{}).Drops(session.Outgoing{State: session.Queued, Purpose: purpose}); got != drops {
			t.Errorf("of a message of purpose %q: dropped %v", purpose, got)
		}
	}
}
