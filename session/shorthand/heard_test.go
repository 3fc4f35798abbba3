package shorthand_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session/shorthand"
)

// Every label that a screen shows for a sign or a reading, typed back, is read
// as itself, without a problem.
func TestLabelsTypedBackReadAsThemselves(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range cat.Languages() {
		reader := shorthand.NewReader(cat, lang)
		read := func(label string) (shorthand.Lot, bool) {
			m, problems := reader.Parse(strings.TrimLeft(label, "0123456789 "))
			if len(problems) > 0 || len(m.Lots) != 1 {
				t.Errorf("%s: %q: %s", lang, label, describe(m, problems))
				return shorthand.Lot{}, false
			}
			return m.Lots[0], true
		}
		for _, f := range grading.Flags() {
			for _, key := range []string{"flag.", "seen."} {
				if !cat.Has(lang, key+string(f)) {
					continue
				}
				label := cat.Text(lang, key+string(f))
				if l, ok := read(label); ok && !slices.Equal(l.Readings.Flags, []grading.Flag{f}) {
					t.Errorf("%s: %q is read as %v", lang, label, l.Readings.Flags)
				}
			}
		}
		for _, f := range grading.Fields() {
			label, number := cat.Text(lang, "field."+f.String()), "13"
			if l, ok := read(label + " " + number); ok && (!l.Readings.Has(f) || l.Fields() != 1) {
				t.Errorf("%s: %q is read as %s", lang, label, describeLot(l))
			}
		}
		for _, key := range []string{"flag.live_weevils", "flag.live_others", "seen.insects"} {
			label := cat.Text(lang, key)
			weevils, others := grading.Decimal(0), grading.Decimal(0)
			if l, ok := read(label); ok {
				weevils, _ = l.Readings.Get(grading.LiveWeevils)
				others, _ = l.Readings.Get(grading.LiveOthers)
				if weevils+others != grading.One {
					t.Errorf("%s: %q is read as %s", lang, label, describeLot(l))
				}
			}
		}
		if l, ok := read(cat.Text(lang, "seen.none")); ok && (l.Readings.Looked != grading.WasLooked || len(l.Readings.Flags) > 0) {
			t.Errorf("%s: %q is not read as looked", lang, cat.Text(lang, "seen.none"))
		}
	}
}

// A denial sets nothing, and nobody has looked for the rest; a sign beside it
// stays said.
func TestDenialsSetNothing(t *testing.T) {
	cat := catalogue(t)
	denied := map[string][]string{
		"en": {"M 14 not mouldy", "not mouldy M 14", "M 14 no mould", "M 14 no smell without mould", "M 14 mould none", "M 14 not ok", "M 14 not looked"},
		"fr": {"H 14 sans moisi", "H 14 pas de moisi", "H 14 pas d'odeur", "H 14 pas d odeur sans moisi", "H 14 moisi non", "H 14 pas traité"},
		"sw": {"U 14 si ukungu", "U 14 hakuna ukungu", "U 14 hauna harufu", "hakuna ukungu hakuna harufu U 14", "U 14 si sawa"},
		"ha": {"D 14 ba hunhuna", "D 14 babu hunhuna", "D 14 ba hunhuna ba wari", "ba wari D 14", "D 14 ba magani"},
	}
	stays := map[string][]string{
		"en": {"M 14 mouldy no smell", "M 14 mouldy no insects", "no smell M 14 mouldy", "M 14 mouldy without any smell"},
		"fr": {"H 14 moisi sans odeur", "H 14 moisi pas d'insectes", "pas d'odeur H 14 moisi"},
		"sw": {"U 14 ukungu hakuna harufu", "U 14 ukungu hakuna wadudu", "hauna harufu U 14 ukungu"},
		"ha": {"D 14 hunhuna babu wari", "D 14 hunhuna babu kwari", "ba wari D 14 hunhuna"},
	}
	for lang, texts := range denied {
		for _, text := range texts {
			m, problems := shorthand.NewReader(cat, lang).Parse(text)
			if len(problems) > 0 || len(m.Lots) != 1 || len(m.Lots[0].Readings.Flags) > 0 || m.Lots[0].Readings.Looked != grading.NotRecorded {
				t.Errorf("%s: %q: %s", lang, text, describe(m, problems))
			}
		}
	}
	for lang, texts := range stays {
		for _, text := range texts {
			m, problems := shorthand.NewReader(cat, lang).Parse(text)
			if len(m.Lots) != 1 || !slices.Contains(m.Lots[0].Readings.Flags, grading.Mouldy) {
				t.Errorf("%s: %q: %s", lang, text, describe(m, problems))
			}
		}
	}
}

func TestLiveInsectsWithoutANumberAreThere(t *testing.T) {
	cat := catalogue(t)
	for text, want := range map[string]grading.Decimal{
		"M 14 weevils S 20": grading.One, "live insects M 14": grading.One, "M 14 weevils": grading.One,
		"M 14 weevils W 6": 6 * grading.One, "M 14 no weevils": 0, "M 14 weevils none": 0, "M 14 weevils 3": 3 * grading.One,
	} {
		m, problems := shorthand.NewReader(cat, "en").Parse(text)
		if len(problems) > 0 || len(m.Lots) != 1 {
			t.Errorf("%q: %s", text, describe(m, problems))
			continue
		}
		weevils, _ := m.Lots[0].Readings.Get(grading.LiveWeevils)
		others, _ := m.Lots[0].Readings.Get(grading.LiveOthers)
		if weevils+others != want {
			t.Errorf("%q: %s", text, describeLot(m.Lots[0]))
		}
	}
}

// Words before the readings are marked: only who knows the growers can say
// whether they are a name.
func TestANameWithoutItsLetterIsMarked(t *testing.T) {
	cat := catalogue(t)
	for text, bare := range map[string]bool{"Asha M 14": true, "abc xyz M 14": true, "G Asha M 14": false} {
		m, _ := shorthand.NewReader(cat, "en").Parse(text)
		if len(m.Lots) != 1 || m.Lots[0].Grower.Name == "" || m.Lots[0].Grower.Bare != bare {
			t.Errorf("%q: %s", text, describe(m, nil))
		}
	}
}

// TestDangersAreHeard reads testdata/shorthand/dangers: every sign that is
// there is read, or something of the message is asked; of the rows with even
// numbers, by which no list was improved, two in three are read as the danger. A bare name is asked,
// unless the sender has such a grower.
func TestDangersAreHeard(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range messageLanguages {
		reader := shorthand.NewReader(cat, lang)
		plain, dangers := 0, 0
		held, heldHeard := 0, 0
		for _, row := range messageRows(t, "dangers", lang, 6) {
			if row[1] == "answer" { // the screen of the signs reads it
				continue
			}
			said := strings.Fields(strings.ReplaceAll(row[5], ";", " "))
			if !slices.ContainsFunc(said, isDanger) {
				continue
			}
			dangers++
			m, problems := reader.Parse(strings.ReplaceAll(row[3], `\n`, "\n"))
			asked := len(problems) > 0 || slices.ContainsFunc(m.Lots, func(l shorthand.Lot) bool {
				return l.Grower.Bare && !strings.Contains(row[4], "G "+l.Grower.Name)
			})
			missing := slices.DeleteFunc(slices.Clone(said), func(sign string) bool { return !isDanger(sign) || heard(m, sign) })
			if number, _ := strconv.Atoi(row[0]); number%2 == 0 {
				held++
				if len(missing) == 0 {
					heldHeard++
				}
			}
			switch {
			case len(missing) > 0 && !asked:
				t.Errorf("%s %s: %q: %v is lost: %s", lang, row[0], row[3], missing, describe(m, problems))
			case len(missing) == 0 && !asked:
				plain++
			}
		}
		if dangers < 20 {
			t.Errorf("%s: only %d dangers", lang, dangers)
		}
		if heldHeard*3 < held*2 {
			t.Errorf("%s: of %d messages by which no list was improved only %d are read as the danger", lang, held, heldHeard)
		}
		t.Logf("%s: %d of %d messages with a danger are read without asking, the others are asked about", lang, plain, dangers)
	}
}

func isDanger(sign string) bool {
	return !strings.HasPrefix(sign, "no-") && sign != "unsaid" && sign != "looked"
}

// heard reports whether a sign of a row stands in a lot; what has no sign of its
// own never does. Mould and a musty smell pass for each other: the stop is the same.
func heard(m shorthand.Message, sign string) bool {
	flags := map[string][]grading.Flag{
		"mouldy": {grading.Mouldy, grading.Musty}, "musty": {grading.Mouldy, grading.Musty}, "chemical": {grading.OffOdour},
		"treated": {grading.TreatedSeed}, "warm": {grading.Warm}, "smell": {grading.Musty, grading.OffOdour},
	}[sign]
	return slices.ContainsFunc(m.Lots, func(l shorthand.Lot) bool {
		weevils, _ := l.Readings.Get(grading.LiveWeevils)
		others, _ := l.Readings.Get(grading.LiveOthers)
		return sign == "insects" && weevils+others > 0 ||
			slices.ContainsFunc(l.Readings.Flags, func(f grading.Flag) bool { return slices.Contains(flags, f) })
	})
}

// TestWithoutDeniesOnlyWhatStandsBehindIt: a danger is not lost to a word about
// the next reading.
func TestWithoutDeniesOnlyWhatStandsBehindIt(t *testing.T) {
	for text, lang := range map[string]string{"M 13 mouldy without S 20": "en", "H 13 moisi sans E 200": "fr", "U 13 ukungu bila S 200": "sw"} {
		message, _ := shorthand.NewReader(catalogue(t), lang).Parse(text)
		if len(message.Lots) != 1 || !slices.Contains(message.Lots[0].Readings.Flags, grading.Mouldy) {
			t.Errorf("%q loses the mould: %+v", text, message)
		}
	}
	for text, lang := range map[string]string{"M 13 without mould S 20": "en", "H 13 sans moisi E 200": "fr", "U 13 bila ukungu S 200": "sw"} {
		message, _ := shorthand.NewReader(catalogue(t), lang).Parse(text)
		if len(message.Lots) != 1 || len(message.Lots[0].Readings.Flags) > 0 {
			t.Errorf("%q is a denial: %+v", text, message)
		}
	}
}
