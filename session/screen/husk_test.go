package screen_test

import (
	"regexp"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/session"
)

// husked brings a grower to the question at the husker.
func husked(t *testing.T, standard string, lang session.Language) (*world, *handset, string) {
	t.Helper()
	w := newWorld(t, standard, lang)
	h := known(w, walker, session.Grower)
	p := w.store.people["known "+session.PersonID(walker)]
	p.Language = lang
	w.store.people[p.ID] = p
	if _, err := h.dial(); err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, entry := range []string{"1", "8 75", "1", "13.2 13.3 13.2", "200", "7.0 0.2"} {
		r, err := h.key(entry)
		if err != nil {
			t.Fatal(err)
		}
		if text = r.Text; strings.Contains(text, w.machine.Words.Text(string(lang), "field.brown_g")) {
			break
		}
	}
	return w, h, text
}

// twoWeights is the example of an answer to a question for two weights.
var twoWeights = regexp.MustCompile(`(?m): \d+[.,]\d+ \d+[.,]\d+$`)

// Broken pieces are asked for where the standard limits them, and by no other;
// they are weighed with all brown rice, and not with the thin grains. Source of the
// order: [HAND-PROCEDURE].
func TestBrokenPiecesAreAskedForWhereTheyAreLimited(t *testing.T) {
	for lang, out := range map[session.Language][2]string{
		"en": {"all brown rice, broken too; then, broken put aside,", "thin or green"},
		"fr": {"tout le riz cargo avec brisures; puis, sans brisures,", "minces ou verts"},
		"sw": {"mchele wote pamoja na chenga; kisha, bila chenga,", "nyembamba au changa"},
		"ha": {"duk shinkafa har da karyayyu; sannan, ban da su,", "sirara ko danyu"},
	} {
		w, _, text := husked(t, "agmark-paddy", lang)
		words := w.machine.Words
		if !twoWeights.MatchString(text) || !strings.Contains(text, out[0]+" ") || strings.Index(text, out[1]) < strings.Index(text, out[0]) {
			t.Errorf("%s, not limited: %q", lang, text)
		}
		if _, _, text := husked(t, "us-brown-rice", lang); !strings.Contains(text, words.Text(string(lang), "field.broken_g")) {
			t.Errorf("%s, limited: %q", lang, text)
		}
	}
}

// What is sent is filed as what it is.
func TestBrokenPiecesAreFiled(t *testing.T) {
	w, h, _ := husked(t, "us-brown-rice", "en")
	for _, entry := range []string{"152 4", "1", "1"} {
		if _, err := h.key(entry); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range w.store.checks {
		if v, ok := c.Readings.Get(grading.BrokenWeight); !ok || v != 4*grading.One {
			t.Errorf("broken pieces: %s, %v", v, ok)
		}
		if v := c.Values["broken"]; v.Fixed(1) != "2.6" {
			t.Errorf("broken: %s %%", v)
		}
	}
	if len(w.store.checks) != 1 {
		t.Errorf("%d checks were filed", len(w.store.checks))
	}
}

// What "?" says of the hands' work, in every language: which way a slotted sieve
// moves, how a bowl is quartered, how a meter is set and closed, how a husker is
// looked after, and what is weighed together [HAND-PROCEDURE] [IRRI-METER].
func TestHowSaysWhatHandsDo(t *testing.T) {
	words := newWorld(t, "agmark-paddy").machine.Words
	for lang, says := range map[string]map[string][]string{
		"en": {"dirt": {"along its slots", "their dust, fallen through or picked", "Filled green grains stay"}, "husk": {"along 1.6 mm slots", "all brown rice, broken too. Then pick out broken", "Brush the husker", "open its rollers"},
			"sample": {"cut it in 4", "2 quarters"}, "moisture": {"Set the meter", "close it fully"}, "pan": {"whole grains", "stayed on the sieve"}},
		"fr": {"dirt": {"dans le sens des fentes", "leur poussière, passés ou triés", "verts pleins restent"}, "husk": {"dans leur sens", "tout le riz cargo avec brisures. Puis otez-les", "Brossez la décortiqueuse", "écartez un peu les rouleaux"},
			"sample": {"coupez en 4", "2 quarts"}, "moisture": {"Réglez l'appareil", "fermez à fond"}, "pan": {"grains entiers", "resté sur le tamis"}},
		"sw": {"dirt": {"kufuata nafasi", "vumbi lake, yaliyopita au kutolewa", "zilizojaa zibaki"}, "husk": {"kufuata nafasi", "mchele wote pamoja na chenga. Kisha ondoa chenga", "Safisha kimenyo", "achanisha rola"},
			"sample": {"gawa sehemu 4", "bakiza 2"}, "moisture": {"Weka kipima", "funga kabisa"}, "pan": {"punje nzima", "uliobaki kwenye chekeche"}},
		"ha": {"dirt": {"bi da tsawon rami", "kurarsu, da suka fadi ko aka cire", "mai ciki ya zauna"}, "husk": {"bi da tsawon rami", "duk shinkafar har da karyayyu. Sannan ku cire karyayyu", "Ku goge injin", "ku bude rola"},
			"sample": {"ku raba 4", "kashi 2"}, "moisture": {"Ku saita na'ura", "ku rufe sosai"}, "pan": {"cikakkun kwaya", "ta rage a rariya"}},
	} {
		for step, phrases := range says {
			for _, phrase := range phrases {
				if text := words.Text(lang, "help."+step); !strings.Contains(text, phrase) {
					t.Errorf("%s: help.%s does not say %q: %q", lang, step, phrase, text)
				}
			}
		}
	}
}

// Stones can be said in the parts that fell through the sieve and that were picked:
// on the phone and in one message, stored and shown as they were said.
func TestStonesAreSaidInParts(t *testing.T) {
	sand := func(w *world) (stones, fell string) {
		for _, c := range w.store.checks {
			all, _ := c.Readings.Get(grading.Stones)
			part, ok := c.Readings.Get(grading.SandWeight)
			if stones, fell = all.String(), part.String(); !ok {
				fell = ""
			}
		}
		return stones, fell
	}
	for _, c := range []struct{ name, entry, again, line, stones, fell string }{
		{"apart", "7.0 0.2+0.6", "", "Chaff 7 stones 0.2+0.6", "0.8", "0.2"},
		{"with spaces, and chaff in parts", "1.5+0.7 0.2 + 0.6", "", "Chaff 2.2 stones 0.2+0.6", "0.8", "0.2"},
		{"one weight", "7.0 0.8", "", "Chaff 7 stones 0.8", "0.8", ""},
		{"two readings, as ever", "7.0+0.8", "", "Chaff 7 stones 0.8", "0.8", ""},
		{"with all that follows", "7.0 0.2+0.6 152 1 0 0 0 0", "", "Chaff 7 stones 0.2+0.6", "0.8", "0.2"},
		{"one weight instead", "7.0 0.2+0.6", "5 7.0 0.9", "Chaff 7 stones 0.9", "0.9", ""},
	} {
		w := newWorld(t, "agmark-paddy", "en")
		h := known(w, walker, session.Grower)
		if _, err := h.dial(); err != nil {
			t.Fatal(err)
		}
		seen := ""
		for _, entry := range []string{"1", "8 75", "1", "13.2 13.3 13.2", "200", c.entry, "152 1", "0 0 0 0", "1", c.again, "1"} {
			if len(w.store.checks) > 0 || entry == "" || strings.Contains(seen, "Signs:") && entry != c.again && entry != "1" {
				continue
			}
			r, err := h.key(entry)
			if err != nil {
				t.Fatal(err)
			}
			if seen = r.Text; strings.Contains(seen, "Chaff ") {
				c.entry = seen
			}
		}
		if !strings.Contains(c.entry, c.line) {
			t.Errorf("%s: the summary says %q", c.name, c.entry)
		}
		if stones, fell := sand(w); stones != c.stones || fell != c.fell {
			t.Errorf("%s: stones %q, of which fell %q", c.name, stones, fell)
		}
	}
	w := newWorld(t, "agmark-paddy", "en")
	if _, err := known(w, walker, session.Grower).sms("M 13.2 13.3 13.2 S 200 O 7 I 0.2+0.6 B 152 T 1 P 0 Y 0 R 0 V 0 BAG 8x75 OK"); err != nil {
		t.Fatal(err)
	}
	if stones, fell := sand(w); stones != "0.8" || fell != "0.2" {
		t.Errorf("in one message: stones %q, of which fell %q", stones, fell)
	}
}
