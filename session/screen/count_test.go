package screen_test

import (
	"strings"
	"testing"

	"threshline/session"
)

// A full check of one's own lot is 11 exchanges by USSD, the dial included, and an
// agent's one more for whose it is; by SMS it is 5 steps, or one message with signs
// and all, which one message answers. Nothing is typed ahead by USSD.
func TestAWholeCheckTakesFewExchanges(t *testing.T) {
	ussd := []string{"8 75", "1", "13.8 14.1 13.9", "200", "2.4 0.6", "155.2 1.1", "0 1 2 0", "1", "1"}
	const whole = "M 13.8 14.1 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 P 0 Y 1 R 2 V 0 BAG 8 "
	for _, c := range []struct {
		name    string
		role    session.Role
		kind    session.Kind
		entries []string
		most    int
	}{
		{"a grower by USSD", session.Grower, session.USSD, append([]string{"1"}, ussd...), 11},
		{"an agent by USSD", session.Agent, session.USSD, append([]string{"1", "1"}, ussd...), 12},
		{"an agent by SMS, step by step", session.Agent, session.SMS, []string{"1 1 8 75", "13.8 14.1 13.9 200 2.4 0.6", "155.2 1.1 0 1 2 0", "1", "1"}, 5},
		{"one SMS, looked at", session.Grower, session.SMS, []string{whole + "OK"}, 1},
		{"one SMS, mouldy", session.Grower, session.SMS, []string{whole + "mouldy"}, 1},
	} {
		w := newWorld(t, "agmark-paddy", "en")
		h := known(w, walker, c.role)
		exchanges := 0
		if c.kind == session.USSD {
			if _, err := h.dial(); err != nil {
				t.Fatal(err)
			}
			exchanges++
		}
		answer := ""
		for _, entry := range c.entries {
			send := h.key
			if c.kind == session.SMS {
				send = h.sms
			}
			answer = must(t, send, entry)
			exchanges++
		}
		if len(w.store.checks) != 1 || exchanges > c.most {
			t.Errorf("%s: %d checks after %d exchanges, want one after at most %d", c.name, len(w.store.checks), exchanges, c.most)
		}
		if n, _ := count(answer); c.most == 1 && (n > 160 || !strings.Contains(answer, string(w.slip()))) {
			t.Errorf("%s: the answer is no one message with its slip, %d septets:\n%s", c.name, n, answer)
		}
	}
}

// slip is the slip filed last.
func (w *world) slip() session.Slip {
	if all, _ := w.store.list(1, func(session.Check) bool { return true }); len(all) > 0 {
		return all[0].Slip
	}
	return ""
}
