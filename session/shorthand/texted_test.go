package shorthand_test

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session/shorthand"
)

// letterOf are the letters in which testdata/shorthand/texted says what is meant.
var letterOf = map[grading.Field]string{
	grading.Moisture: "M", grading.SampleWeight: "S", grading.Chaff: "O", grading.Stones: "I", grading.BrownWeight: "B",
	grading.ImmatureWeight: "T", grading.Counted: "C", grading.PestDamaged: "P", grading.Discoloured: "Y", grading.Red: "R",
	grading.LiveWeevils: "W", grading.BrokenWeight: "K",
}

// said is a lot by its letters, each with its numbers.
func said(l *shorthand.Lot) map[string]string {
	out := map[string]string{}
	for _, f := range grading.Fields() {
		letter := letterOf[f]
		if letter == "" {
			letter = f.String()
		}
		switch v, ok := l.Readings.Get(f); {
		case !ok:
		case f == grading.Moisture:
			var all []string
			for _, d := range l.Readings.Repeats {
				all = append(all, d.String())
			}
			out[letter] = strings.Join(all, " ")
		default:
			out[letter] = v.String()
		}
		if slices.Contains(l.Unable, f) {
			out[letter] = "X"
		}
	}
	switch {
	case l.Bags > 0 && l.BagKG > 0:
		out["BAG"] = fmt.Sprintf("%dx%s", l.Bags, l.BagKG)
	case l.Bags > 0:
		out["BAG"] = fmt.Sprint(l.Bags)
	}
	if l.KG > 0 {
		out["KG"] = l.KG.String()
	}
	if l.Grower.Short > 0 || l.Grower.Name != "" {
		out["G"] = strings.TrimPrefix(fmt.Sprintf("%d", l.Grower.Short), "0") + l.Grower.Name
	}
	if l.Slip != "" {
		out["SLIP"] = l.Slip
	}
	for _, flag := range l.Readings.Flags {
		out[string(flag)] = "seen"
	}
	if l.Readings.Looked == grading.WasLooked {
		out["OK"] = "looked"
	}
	return out
}

var piece = regexp.MustCompile(`(SLIP|BAG|KG|[MSOIBTCPYRWGK]) ((?:[0-9][^ ]*|X|[A-Z][a-z]+|[A-Z0-9]{7})(?: [0-9][^ ]*)*)`)

// meant is a row's meaning in the same form, numbers as the reader writes them.
func meant(t *testing.T, text string) map[string]string {
	out := map[string]string{}
	for _, m := range piece.FindAllStringSubmatch(text, -1) {
		var all []string
		for _, word := range strings.Fields(m[2]) {
			d, err := grading.ParseDecimal(word)
			if err == nil && m[1] != "SLIP" && m[1] != "BAG" {
				word = d.String()
			}
			all = append(all, word)
		}
		out[m[1]] = strings.Join(all, " ")
	}
	return out
}

// verdict is how a message was read.
type verdict int

const (
	right  verdict = iota
	plain          // right, and nothing was asked
	wrong          // something that can be seen: asked without need, or not taken
	silent         // something was taken that the message does not say, without a word
)

// judge holds what was read against what a row means and whether it may be asked.
func judge(ask string, want map[string]string, m shorthand.Message, problems []shorthand.Problem) verdict {
	got, asked := map[string]string{}, len(problems) > 0
	for i := range m.Lots {
		l := &m.Lots[i]
		asked = asked || l.Grower.Bare && want["G"] != l.Grower.Name
		for k, v := range said(l) {
			if _, twice := got[k]; twice {
				v = "in two lots"
			}
			got[k] = v
		}
	}
	lacks := slices.Contains(slices.Collect(maps.Values(want)), "X")
	extra := false
	for k, v := range got {
		if want[k] != v && !(lacks && v == "X") {
			extra = true
		}
	}
	missing := 0
	for k := range want {
		if got[k] == "" {
			missing++
		}
	}
	switch {
	case extra && !asked:
		return silent
	case extra:
		return wrong
	case ask == "must" && asked, ask == "may" && asked && missing > 0, ask == "may" && missing == 0 && asked:
		return right
	case ask != "must" && missing == 0 && !asked:
		return plain
	case ask == "may" && len(got) == 0: // not understood at all: the step or the menu asks
		return right
	}
	return wrong
}

var readKinds = []string{"moisture", "bags", "weights", "counts", "whole"}

// stepKeys are the first readings of the step that asks for a kind.
var stepKeys = map[string]string{"moisture": "moisture", "bags": "bags", "weights": "sample_g", "counts": "counted"}

// TestTextedMessages reads testdata/shorthand/texted: of the rows that nobody
// improves the lists by, 90 in 100 are right; of those and the fresh ones none is
// silently wrong.
func TestTextedMessages(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range messageLanguages {
		reader := shorthand.NewReader(cat, lang)
		count := map[string]map[verdict]int{"tune": {}, "held": {}, "fresh": {}}
		for _, row := range messageRows(t, "texted", lang, 6) {
			half, kind, ask, text, want := row[1], row[2], row[3], row[4], meant(t, row[5])
			if !slices.Contains(readKinds, kind) {
				continue
			}
			m, problems := reader.Parse(text)
			v := judge(ask, want, m, problems)
			if key := stepKeys[kind]; key != "" && v != silent {
				am, ap := reader.Answer(key, text)
				switch a := judge(ask, want, am, ap); {
				case a == silent:
					v, m, problems = a, am, ap
				case a <= plain && v > plain:
					v = a
				}
			}
			count[half][v]++
			if half != "held" && v >= wrong {
				t.Logf("%s %s, %s %s, %q: want %v: %s", lang, half, row[0], map[verdict]string{wrong: "wrong", silent: "silently wrong"}[v], text, want, describe(m, problems))
			}
		}
		for half, n := range count {
			good, all := n[right]+n[plain], n[right]+n[plain]+n[wrong]+n[silent]
			t.Logf("%s %s: %d of %d right, %d of them without a question; %d silently wrong", lang, half, good, all, n[plain], n[silent])
			if half == "held" && good*100 < 90*all || half != "tune" && n[silent] > 0 {
				t.Errorf("%s %s: %d of %d messages are right, %d silently wrong", lang, half, good, all, n[silent])
			}
		}
	}
}

// signSaid are the signs of testdata/shorthand/noted, by their names in MESSAGES.md.
var signSaid = map[string]grading.Flag{
	"mouldy": grading.Mouldy, "musty": grading.Musty, "chemical": grading.OffOdour, "treated": grading.TreatedSeed, "warm": grading.Warm,
}

// TestNotedMessages reads testdata/shorthand/noted, messages that were read wrongly
// once: each is right now, and nothing of it silently wrong.
func TestNotedMessages(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range messageLanguages {
		reader := shorthand.NewReader(cat, lang)
		rows := messageRows(t, "noted", lang, 4)
		if len(rows) < 15 {
			t.Errorf("%s: %d noted messages, want at least 15", lang, len(rows))
		}
		for _, row := range rows {
			want := meant(t, row[3])
			for _, word := range strings.Fields(row[3]) {
				if flag, ok := signSaid[word]; ok {
					want[string(flag)] = "seen"
				}
			}
			m, problems := reader.Parse(row[2])
			for i := range m.Lots {
				if g := &m.Lots[i].Grower; g.Bare { // no grower is called so
					problems = append(problems, shorthand.Problem{Trouble: shorthand.UnknownWord, Typed: g.Name})
					*g = shorthand.Grower{}
				}
			}
			if v := judge(row[1], want, m, problems); v >= wrong {
				t.Errorf("%s %s, %q: want %v: %s", lang, row[0], row[2], want, describe(m, problems))
			}
		}
	}
}
