package screen_test

import (
	"testing"

	"threshline/session"
)

// FuzzStep sends any text to a dialogue that stands on any screen, by either
// kind of channel: it is answered within the budget, and nothing else happens.
func FuzzStep(f *testing.F) {
	for i := range 60 {
		f.Add("13.8 14,1 13.9", uint8(i), i%2 == 0)
		f.Add("0", uint8(i), i%2 == 1)
	}
	f.Add("STOP", uint8(3), true)
	f.Add("M 13.2 S 200 O 1.4 bag 10; G2 M 13", uint8(2), true)
	f.Add("7KX3M9A", uint8(0), false)
	states := fuzzStates(f)
	f.Fuzz(func(t *testing.T, text string, state uint8, sms bool) {
		w := states[int(state)%len(states)].clone()
		h := &handset{world: w, number: walker, network: 1}
		send := h.key
		if sms {
			send = h.sms
		}
		r, err := send(text)
		if err != nil {
			t.Fatal(err)
		}
		if n, ok := count(r.Text); !ok || n > budget.Septets || (r.Text == "") != r.Silent {
			t.Errorf("%q: %d septets, GSM-7 %v, silent %v: %q", text, n, ok, r.Silent, r.Text)
		}
	})
}

// fuzzStates are worlds in which the dialogue stands on each screen.
func fuzzStates(f *testing.F) []*world {
	w := newWorld(f, "agmark-paddy", "en", "fr")
	known(w, walker, session.Agent)
	h := &handset{world: w, number: walker}
	if _, err := h.dial(); err != nil {
		f.Fatal(err)
	}
	states := []*world{w.clone()}
	for _, path := range paths {
		for _, key := range path {
			if key == "99" && len(states) < 3 {
				key = "1" // the short number that there is
			}
			if _, err := h.key(key); err != nil {
				f.Fatal(err)
			}
			states = append(states, w.clone())
		}
	}
	fresh := newWorld(f, "agmark-paddy", "en", "fr")
	return append(states, fresh)
}
