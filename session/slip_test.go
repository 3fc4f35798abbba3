package session_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"threshline/session"
)

const slipAlphabet = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

func TestAnySingleWrongCharacterAndAnySwapOfNeighboursIsCaught(t *testing.T) {
	// The check is linear, so what it catches depends only on the place and on
	// the difference between right and wrong: every place with every pair of
	// characters covers all slips. A hundred bodies make sure of the linearity.
	seed := uint64(20261125)
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	for range 100 {
		slip := string(session.NewSlip(r.Uint64()))
		if got, ok := session.ParseSlip(slip); !ok || string(got) != slip {
			t.Fatalf("%q does not read back: %q %v", slip, got, ok)
		}
		for i := range slip {
			for _, c := range slipAlphabet {
				wrong := slip[:i] + string(c) + slip[i+1:]
				if _, ok := session.ParseSlip(wrong); ok && wrong != slip {
					t.Errorf("%q passes for %q", wrong, slip)
				}
			}
		}
	}
	for place := 0; place < 6; place++ {
		for _, a := range slipAlphabet {
			for _, b := range slipAlphabet {
				slip := withPair(place, a, b)
				if slip == "" {
					continue
				}
				swapped := slip[:place] + slip[place+1:place+2] + slip[place:place+1] + slip[place+2:]
				if _, ok := session.ParseSlip(swapped); ok && swapped != slip {
					t.Errorf("%q passes for its neighbour-swap %q", swapped, slip)
				}
			}
		}
	}
}

// withPair finds a valid slip with a and b at place and place+1.
func withPair(place int, a, b rune) string {
	body := []byte("A2B3C4D")
	body[place], body[place+1] = byte(a), byte(b)
	for free := range body { // one other place is varied until the sum is right
		if free == place || free == place+1 {
			continue
		}
		for _, c := range slipAlphabet {
			try := append([]byte(nil), body...)
			try[free] = byte(c)
			if _, ok := session.ParseSlip(string(try)); ok {
				return string(try)
			}
		}
	}
	return ""
}

func TestEveryPairOfNeighboursHasASlip(t *testing.T) {
	for place := 0; place < 6; place++ {
		for _, a := range slipAlphabet {
			for _, b := range slipAlphabet {
				if withPair(place, a, b) == "" {
					t.Errorf("no slip with %c%c at %d: the proof above would skip it", a, b, place)
				}
			}
		}
	}
}

func TestSlipsAreReadAsPeopleWriteThem(t *testing.T) {
	slip := string(session.NewSlip(42))
	for _, as := range []string{strings.ToLower(slip), slip[:3] + " " + slip[3:], slip[:3] + "-" + slip[3:], "  " + slip + " "} {
		if got, ok := session.ParseSlip(as); !ok || string(got) != slip {
			t.Errorf("%q reads as %q %v, want %q", as, got, ok, slip)
		}
	}
	for _, not := range []string{"", "2345678", "MARIAMU", slip + "2", slip[:6], "O" + slip[1:], strings.Repeat(slip, 300)} {
		if got, ok := session.ParseSlip(not); ok {
			t.Errorf("%q passes as slip %q", not, got)
		}
	}
}

func FuzzParseSlip(f *testing.F) {
	f.Add("7KX3M9A", uint64(1))
	f.Fuzz(func(t *testing.T, text string, entropy uint64) {
		if s, ok := session.ParseSlip(text); ok {
			if again, ok := session.ParseSlip(string(s)); !ok || again != s {
				t.Errorf("%q reads as %q, which does not read as itself", text, s)
			}
		}
		made := session.NewSlip(entropy)
		if got, ok := session.ParseSlip(string(made)); !ok || got != made {
			t.Errorf("%q was made and does not read", made)
		}
		if !session.LooksLikeSlip(string(made)) {
			t.Errorf("%q was made and does not look like a slip", made)
		}
	})
}
