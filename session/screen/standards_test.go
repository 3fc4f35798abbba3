package screen_test

import (
	"strings"
	"testing"

	"threshline/grading/standard"
	"threshline/session"
)

// A check can be walked to its slip by every built-in standard, whatever it
// asks for: each screen is answered with the example that it gives itself.
func TestEveryStandardCanBeWalkedToASlip(t *testing.T) {
	ids := standard.IDs()
	if len(ids) == 0 {
		t.Fatal("no built-in standard")
	}
	for _, id := range ids {
		for _, kind := range []session.Kind{session.USSD, session.SMS} {
			t.Run(id+" "+string(kind), func(t *testing.T) { walkToSlip(t, id, kind) })
		}
	}
}

func walkToSlip(t *testing.T, id string, kind session.Kind) {
	w := newWorld(t, id, "en")
	h := known(w, walker, session.Grower)
	send := h.key
	if kind == session.SMS {
		send = h.sms
	} else if _, err := h.dial(); err != nil {
		t.Fatal(err)
	}
	r, err := send("1 8 75")
	for range 20 {
		if err != nil {
			t.Fatal(err)
		}
		if len(w.store.checks) == 1 {
			break
		}
		entry := "1"
		if _, like, found := strings.Cut(r.Text, "Like: "); found {
			entry, _, _ = strings.Cut(like, "\n")
		}
		r, err = send(entry)
	}
	if len(w.store.checks) != 1 {
		t.Fatalf("no check was filed; the dialogue stands at %q", r.Text)
	}
	for _, c := range w.store.checks {
		t.Logf("%s: %s, missing %v", id, c.Grade, c.Missing)
	}
	if n, ok := count(r.Text); !ok || n > budget.Septets {
		t.Errorf("the grade does not fit: %q", r.Text)
	}
}
