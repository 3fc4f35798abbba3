package screen_test

import (
	"testing"

	"threshline/session"
)

// BenchmarkStep is the cost of one turn by what it does: a reading, a menu, the
// grade with its advice, a whole check in one message.
func BenchmarkStep(b *testing.B) {
	for _, c := range []struct {
		name  string
		path  []string
		entry string
		kind  session.Kind
	}{
		{"menu", nil, "0", session.USSD},
		{"reading", []string{"1", "1 8 75", "1", "13.8 14.1 13.9"}, "200", session.USSD},
		{"grade", []string{"1", "1 8 75", "1", "13.8 14.1 13.9", "200", "2.4 0.6", "155.2 1.1", "0 1 2 0", "1"}, "1", session.USSD},
		{"shorthand", nil, "G1 M 13.2 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 10", session.SMS},
	} {
		b.Run(c.name, func(b *testing.B) {
			w := newWorld(b, "agmark-paddy", "en", "sw")
			h := known(w, walker, session.Agent)
			if _, err := h.dial(); err != nil {
				b.Fatal(err)
			}
			for _, key := range c.path {
				if _, err := h.key(key); err != nil {
					b.Fatal(err)
				}
			}
			in := session.Input{
				Kind: c.kind, Event: session.Continue, Phone: walker, Text: c.entry, At: w.now, Budget: budget,
				NetworkSession: h.last.NetworkSession,
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := w.machine.Step(w.store, in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
