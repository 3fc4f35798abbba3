package gsm_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"threshline/gateway/gsm"
)

func FuzzFoldedTextCanBeSent(f *testing.F) {
	for _, seed := range []string{"être", "ọ̀pọ̀", "🌾", "\xff\x00", "a\u0301", "½ ﷽", "ŉ"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, s string) {
		folded := gsm.Fold(s)
		if _, ok := gsm.Count(folded); !ok {
			t.Fatalf("%q folds to %q, which is not in the alphabet", s, folded)
		}
		if gsm.Fold(folded) != folded {
			t.Errorf("%q folds further", folded)
		}
	})
}

func FuzzSegmentsHoldTheText(f *testing.F) {
	f.Add(strings.Repeat("a", 152) + "€" + strings.Repeat("a", 152))
	f.Add(strings.Repeat("ẹ", 66) + "🌾")
	f.Add("\xff")
	f.Fuzz(func(t *testing.T, s string) {
		total, ok := gsm.Count(s)
		part := gsm.PartSeptets
		if !ok {
			total, part = gsm.Units(s), gsm.PartUnits
		}
		lengths := gsm.Segments(s)
		sum := 0
		for i, n := range lengths {
			sum += n
			if len(lengths) > 1 && n > part {
				t.Errorf("segment %d holds %d of %d", i, n, part)
			}
		}
		if sum != total {
			t.Errorf("%q: segments %v, total %d", s, lengths, total)
		}
	})
}

func FuzzPlainIsStable(f *testing.F) {
	f.Add("١٣٫٨\u202e")
	f.Add("１３．８％")
	f.Fuzz(func(t *testing.T, s string) {
		once := gsm.Plain(s)
		if !utf8.ValidString(once) {
			t.Errorf("%q is not valid UTF-8", once)
		}
		if twice := gsm.Plain(once); twice != once {
			t.Errorf("%q became %q, then %q", s, once, twice)
		}
	})
}
