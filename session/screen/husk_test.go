package screen_test

import (
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

// Broken pieces are asked for where the standard limits them, and by no other;
// whatever it asks, they are kept out of the thin grains. Source of the order:
// [HAND-PROCEDURE].
func TestBrokenPiecesAreAskedForWhereTheyAreLimited(t *testing.T) {
	for lang, out := range map[session.Language]string{"en": "nothing broken", "fr": "sans brisures", "sw": "bila chenga", "ha": "ban da karyayyu"} {
		w, _, text := husked(t, "agmark-paddy", lang)
		words := w.machine.Words
		if asked := words.Text(string(lang), "field.broken_g") + ","; strings.Contains(text, asked) || !strings.Contains(text, out) {
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
		"en": {"dirt": {"along its slots", "their dust, fallen through or picked", "Filled green grains stay"}, "husk": {"along 1.6 mm slots", "Pick out broken pieces", "Brush the husker", "open its rollers"},
			"sample": {"cut it in 4", "2 quarters"}, "moisture": {"Set the meter", "close it fully"}, "pan": {"whole grains", "stayed on the sieve"}},
		"fr": {"dirt": {"dans le sens des fentes", "leur poussière, passés ou triés", "verts pleins restent"}, "husk": {"dans leur sens", "Otez les brisures", "Brossez la décortiqueuse", "écartez un peu les rouleaux"},
			"sample": {"coupez en 4", "2 quarts"}, "moisture": {"Réglez l'appareil", "fermez à fond"}, "pan": {"grains entiers", "resté sur le tamis"}},
		"sw": {"dirt": {"kufuata nafasi", "vumbi lake, yaliyopita au kutolewa", "zilizojaa zibaki"}, "husk": {"kufuata nafasi", "Ondoa chenga", "Safisha kimenyo", "achanisha rola"},
			"sample": {"gawa sehemu 4", "bakiza 2"}, "moisture": {"Weka kipima", "funga kabisa"}, "pan": {"punje nzima", "uliobaki kwenye chekeche"}},
		"ha": {"dirt": {"bi da tsawon rami", "kurarsu, da suka fadi ko aka cire", "mai ciki ya zauna"}, "husk": {"bi da tsawon rami", "Ku cire karyayyu", "Ku goge injin", "ku bude rola"},
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
