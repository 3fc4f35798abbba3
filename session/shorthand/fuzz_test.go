package shorthand_test

import (
	"testing"

	"threshline/grading"
	"threshline/session/shorthand"
)

// FuzzParse: whatever is typed, reading ends, nothing impossible is taken, and
// what was taken can be written and read again.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{
		"M 13.8 14.1 13.9 S 20 O 0.24 I 0.06 BAG 8x75", "u13,8 14,1; MK 5 U 15\nG 6 M 12", "K7M2QX9 slip 1,200kg", "OOO.O.O 0o0",
		"H 13,8,14,1 -3 x x 8x8x8", "G 99 Asha B X none red 2 yellow", "\u0661\u0663\u066b\u0668 M", "G0 ha ha \xff\xfe",
	} {
		f.Add(seed)
	}
	cat := catalogue(f)
	readers := map[string]*shorthand.Reader{}
	for _, lang := range cat.Languages() {
		readers[lang] = shorthand.NewReader(cat, lang)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for lang, reader := range readers {
			reader.Looks(text)
			m, problems := reader.Parse(text)
			for _, p := range problems {
				if p.Trouble == "" || p.Lot < 0 || p.Lot > len(m.Lots) {
					t.Errorf("%s: %q: a problem of no lot: %+v", lang, text, p)
				}
			}
			for _, l := range m.Lots {
				if err := l.Readings.Check(); err != nil {
					t.Errorf("%s: %q: took what cannot be: %v", lang, text, err)
				}
				if l.Bags < 0 || l.BagKG < 0 || l.KG < 0 || l.Grower.Short < 0 || l.Grower.Short > 99 {
					t.Errorf("%s: %q: took %s", lang, text, describeLot(l))
				}
				if l.Empty() {
					t.Errorf("%s: %q: an empty lot", lang, text)
				}
				l.Grower.Name, l.Slip = "", "" // as typed: names may be anything
				again, _ := reader.Parse(reader.Render(l))
				if len(again.Lots) == 1 && describeLot(again.Lots[0]) != describeLot(l) {
					t.Errorf("%s: %q: %s was read again as %s", lang, text, describeLot(l), describeLot(again.Lots[0]))
				}
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	reader := shorthand.NewReader(catalogue(b), "en")
	text := reader.Pattern(grading.Fields())
	b.ReportAllocs()
	for b.Loop() {
		reader.Parse(text)
	}
}

func BenchmarkNewReader(b *testing.B) {
	cat := catalogue(b)
	b.ReportAllocs()
	for b.Loop() {
		shorthand.NewReader(cat, "sw")
	}
}
