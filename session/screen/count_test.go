package screen_test

import (
	"testing"

	"threshline/session"
)

// A full check is at most 12 exchanges by USSD, the dial included, and 5
// messages by SMS, one of them about signs. Nothing is typed ahead by USSD.
func TestAWholeCheckTakesFewExchanges(t *testing.T) {
	ussd := []string{"1", "1", "8 75", "1", "13.8 14.1 13.9", "200", "2.4 0.6", "155.2 1.1", "0 1 2 0", "1", "1"}
	sms := []string{"1 1 8 75", "13.8 14.1 13.9 200 2.4 0.6", "155.2 1.1 0 1 2 0", "1", "1"}
	for _, c := range []struct {
		name    string
		kind    session.Kind
		entries []string
		most    int
	}{{"ussd", session.USSD, ussd, 12}, {"sms", session.SMS, sms, 5}} {
		w := newWorld(t, "agmark-paddy", "en")
		h := known(w, walker, session.Agent)
		exchanges := 0
		if c.kind == session.USSD {
			if _, err := h.dial(); err != nil {
				t.Fatal(err)
			}
			exchanges++
		}
		for _, entry := range c.entries {
			send := h.key
			if c.kind == session.SMS {
				send = h.sms
			}
			if _, err := send(entry); err != nil {
				t.Fatal(err)
			}
			exchanges++
		}
		if len(w.store.checks) != 1 || exchanges > c.most {
			t.Errorf("%s: %d checks after %d exchanges, want one after at most %d", c.name, len(w.store.checks), exchanges, c.most)
		}
	}
}
