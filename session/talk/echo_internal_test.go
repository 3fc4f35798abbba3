package talk

import (
	"hash/fnv"
	"testing"

	"pgregory.net/rapid"
)

func TestAFingerprintIsTheHashOfTheSqueezedText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[ A-Za-z\n\t]{0,40}`)).Draw(t, "text")
		h := fnv.New64a()
		h.Write([]byte(squeezed(text)))
		if got := fingerprint(text); got != h.Sum64() {
			t.Errorf("%q: %x, want that of %q, %x", text, got, squeezed(text), h.Sum64())
		}
	})
}

func TestAFingerprintMakesNothingOfBrokenText(t *testing.T) {
	for _, text := range []string{"\xff", "a\xffB", " \xc3 \xc3(", "É\u2003È\u00a0x"} {
		h := fnv.New64a()
		h.Write([]byte(squeezed(text)))
		if got := fingerprint(text); got != h.Sum64() {
			t.Errorf("%q: %x, want that of %q, %x", text, got, squeezed(text), h.Sum64())
		}
	}
}
