package screen_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

// good are entries that the screens of a check take, so that random dialogues
// come to their end often enough.
var good = map[session.ScreenID][]string{
	talk.MenuScreen: {"1", "1", "1", "5", "2", "6", "3"},
	"whose":         {"1", "2", "as", "1 8 75"},
	"bags":          {"8 75", "12", "0 600"},
	"spear":         {"1"},
	"moisture":      {"13.8 14.1 13.9", "13.8", "15.2 15.1"},
	"sample":        {"200", "100"},
	"dirt":          {"2.4 0.6", "1.2", "0"},
	"husk":          {"155.2 1.1", "77.1 0.4"},
	"pan":           {"0 1 2 0", "0 1"},
	"first":         {"13.8 14.1 13.9 200 2.4 0.6", "13.8 14.1"},
	"second":        {"155.2 1.1 0 1 2 0", "155.2"},
	"seen":          {"1", "2 3", "6"},
	"insects":       {"1 0", "0"},
	"sum":           {"1", "1", "3 13.1 13.2 13.3", "8", "4"},
	"doubt":         {"1", "2"},
	"zero":          {"1", "2"},
	"lack":          {"2", "3", "4"},
	"dry":           {"18 600", "25", "11 600 3", "1", "99"},
	"dry-kg":        {"600", "1", "2", "19 700"},
	"dry-keep":      {"1", "2", "3", "4", "5", "19 700"},
	"dry-plan":      {"9", "0", "19 700"},
	"dry-test":      {"1", "2"},
	"dry-bite":      {"1", "2", "3", "4"},
	"dry-salt":      {"1", "2"},
	"dry-sign":      {"9", "0"},
	"unfinished":    {"1", "2"},
	"grade":         {"1", "2", "3", "00"},
	"change":        {"1", "2", "3"},
	"withdraw":      {"1"},
	"agree":         {"1", "1", "2"},
}

// stray are keys and texts that may come at any time.
var stray = []string{"0", "00", "?", "9", "99", "7", "abc", "-3", "200 %", "1 2 3 4 5 6 7 8 9", "😀", "M 13.2 S 200 bag 4"}

// Random dialogues on two phones, with drops, messages by another way, checks
// put aside and time passing, against what must always hold: no reading is
// lost, no check is filed twice, nothing exceeds the budget, there is a way on.
// The library prints its seed on failure.
func TestRandomDialoguesLoseNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		for range dialogues {
			randomDialogue(t, rt)
		}
	})
}

// dialogues is how many worlds of two phones the random tests play for each
// draw: thousands of dialogues in all, with the usual hundred draws.
const dialogues = 10

func randomDialogue(t *testing.T, rt *rapid.T) {
	w := newWorld(t, "agmark-paddy", "en")
	w.once = true
	w.septets = rapid.SampledFrom([]int{70, 120, 160, 160, 182}).Draw(rt, "budget")
	phones := []*handset{known(w, "+33639985501", session.Agent), known(w, "+33639985502", session.Grower)}
	for range rapid.IntRange(5, 120).Draw(rt, "messages") {
		h := rapid.SampledFrom(phones).Draw(rt, "phone")
		if rapid.IntRange(0, 30).Draw(rt, "pause") == 0 {
			w.now = w.now.Add(time.Duration(rapid.IntRange(1, 600).Draw(rt, "minutes")) * time.Minute)
		}
		oneMessage(rt, w, h)
	}
}

// known puts somebody with two growers into the store.
func known(w *world, number session.Phone, role session.Role) *handset {
	id := session.PersonID("known " + string(number))
	agreed := session.Consent{Version: 1, Given: true}
	w.store.people[id] = session.Person{ID: id, Phone: number, Role: role, Name: "Neema", Language: "en", Consent: agreed}
	for i, name := range []string{"Asha Said", "Asha Juma"} {
		grower := session.PersonID(fmt.Sprintf("%s grower %d", id, i))
		w.store.people[grower] = session.Person{ID: grower, Name: name, Agent: id, Short: i + 1}
		if i == 0 {
			p := w.store.people[grower]
			p.Consent = agreed // the other is asked before the first check is filed
			w.store.people[grower] = p
		}
	}
	return &handset{world: w, number: number}
}

func oneMessage(rt *rapid.T, w *world, h *handset) {
	before, filed := w.store.dialogues[h.number], len(w.store.checks)
	entry := rapid.SampledFrom(stray).Draw(rt, "stray")
	if ways := good[before.Screen]; len(ways) > 0 && rapid.IntRange(0, 9).Draw(rt, "good") < 8 {
		entry = rapid.SampledFrom(ways).Draw(rt, "entry")
	}
	var r session.Reply
	var err error
	switch way := rapid.IntRange(0, 19).Draw(rt, "way"); {
	case way == 19 && h.last.Phone != "": // the carrier names no message: it comes as a new one
		entry = h.last.Text
		r, err = w.step(h.last)
	case way < 2:
		in := h.last
		in.Event, in.Text, in.Phone = session.Timeout, "", h.number
		r, err = w.step(in)
		h.open = false
		entry = "(drop)"
	case way < 6:
		r, err = h.sms(entry)
	case !h.open:
		r, err = h.dial()
		entry = "(dial)"
	default:
		r, err = h.key(entry)
	}
	if err != nil {
		rt.Fatal(err)
	}
	if n, ok := count(r.Text); !ok || n > w.septets || (r.Text == "") != r.Silent {
		rt.Fatalf("%q on %q: %d septets, GSM-7 %v, silent %v: %q", entry, before.Screen, n, ok, r.Silent, r.Text)
	}
	after := w.store.dialogues[h.number]
	if w.machine.Screens[after.Screen] == nil && after.Screen != before.Screen {
		rt.Fatalf("%q on %q leads to %q, which is no screen", entry, before.Screen, after.Screen)
	}
	kept(rt, w, before, after, entry)
	if grew := len(w.store.checks) - filed; grew > 1 || grew == 1 && len(after.Drafts) != len(before.Drafts)-1 && entry[0] != 'M' {
		rt.Fatalf("%q on %q filed %d checks, and %d drafts became %d", entry, before.Screen, grew, len(before.Drafts), len(after.Drafts))
	}
}

// kept fails when a draft or one of its readings is gone without having been
// filed, measured again on request, or let go.
func kept(rt *rapid.T, w *world, before, after session.Dialogue, entry string) {
	asked := []session.ScreenID{"doubt", "lack", "let-go"}
	was, is := before.Memo, after.Memo // the lot of the drying screens stays, until a pause
	if gone := was.DryFrom != 0 && is.DryFrom == 0 || was.DryKG != 0 && is.DryKG == 0; gone && after.Last.Sub(before.Last) <= 2*time.Hour {
		rt.Fatalf("%q on %q: the lot to dry is gone", entry, before.Screen)
	}
	if n := len(before.Trail); before.Screen == "how" && n > 0 {
		before.Screen = before.Trail[n-1] // an answer sent from the help goes there
	}
	for _, old := range before.Drafts {
		i := slices.IndexFunc(after.Drafts, func(d session.Draft) bool { return d.Started.Equal(old.Started) })
		if i < 0 {
			blank := old.Lot.Bags == 0 && old.Lot.KG == 0 && old.Recheck == "" && old.Corrects == ""
			expired := w.now.Sub(old.Touched) > 72*time.Hour
			if !filedFrom(w, old) && !blank && !expired && before.Screen != "let-go" && before.Screen != "agree" {
				rt.Fatalf("%q on %q: the draft of %s is gone", entry, before.Screen, old.Started)
			}
			continue
		}
		sample, _ := old.Readings.Get(grading.SampleWeight)
		now, _ := after.Drafts[i].Readings.Get(grading.SampleWeight)
		another := old.Recheck != "" && now != sample // what was weighed of the earlier sample is weighed anew
		for _, f := range grading.Fields() {
			if old.Readings.Has(f) && !after.Drafts[i].Readings.Has(f) && !slices.Contains(asked, before.Screen) && !(another && f.Kind() == grading.WeightField) {
				rt.Fatalf("%q on %q: reading %s is gone", entry, before.Screen, f)
			}
		}
	}
}

func filedFrom(w *world, d session.Draft) bool {
	for _, c := range w.store.checks {
		if c.Started.Equal(d.Started) {
			return true
		}
	}
	return false
}
