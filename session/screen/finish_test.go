package screen_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// withinEntries is how many entries file a check from wherever it stands.
const withinEntries = 8

// tried are entries for every screen of a check beside its own: right and wrong
// ones, and the keys that are the same everywhere but 00.
var tried = []string{"1", "2", "3", "4", "9", "99", "0", "?", "x"}

// own are entries that a screen takes, those that are doubted, refused or only a
// part among them: what came wrong has to lead on too.
var own = map[session.ScreenID][]string{
	"bags":     {"8 75", "0 600", "12"},
	"moisture": {"13.8 14.1 13.9", "13.8", "13.8 16.9 13.9", "4"},
	"sample":   {"200", "5"},
	"dirt":     {"2.4 0.6", "2.4", "150 60", "0.2+0.4"},
	"husk":     {"155.2 1.1", "155.2", "300 1", "199 1.1"},
	"pan":      {"0 1 2", "0 1", "90 1 20"},
	"first":    {"13.8 14.1 13.9 200 2.4 0.6", "13.8 14.1", "13.8 16.9 13.9 200 150 60"},
	"second":   {"155.2 1.1 0 1 2", "155.2", "155.2 1.1 90 1 20"},
	"seen":     {"2", "23", "6", "5"},
	"insects":  {"0 3", "0 0"},
	"sum":      {"2", "5", "7", "8"},
	"doubt":    {"13.8 14.1 13.9"},

	"hand-offer": {"1"}, "hand-bite": {"1", "5"}, "hand-count": {"200 12 1 6", "200 300 1 6", "200 12"},
	"hand-husk": {"50 4 0 1", "50 60 0 0"}, "hand-all": {"200 12 1 6 50 4 0 1", "200 12"},
}

// straight is what somebody keys in who wants to be done; the readings come from
// ahead.
var straight = map[session.ScreenID]string{
	"spear": "1", "lack": "2", "zero": "1", "dry-test": "1", "dry-bite": "4", "dry-salt": "2", "dry-sign": "1",
	"seen": "1", "smell": "1", "insects": "0 3", "sum": "1", "agree": "1", "how": "0", "class": "1",
	"hand-offer": "2", "hand-bite": "99", "hand-salt": "1", "hand-count": "200 12 1 6", "hand-husk": "99", "hand-all": "200 12 1 6",
}

// groupsOf are the readings of each screen, in order, with what is sent for each.
var groupsOf = map[session.Kind][]struct {
	screen session.ScreenID
	fields []grading.Field
}{
	session.USSD: {
		{"moisture", []grading.Field{grading.Moisture}}, {"sample", []grading.Field{grading.SampleWeight}},
		{"dirt", []grading.Field{grading.Chaff, grading.Stones}}, {"husk", []grading.Field{grading.BrownWeight, grading.ImmatureWeight}},
		{"pan", []grading.Field{grading.PestDamaged, grading.Discoloured, grading.Red}},
	},
	session.SMS: {
		{"first", []grading.Field{grading.Moisture, grading.SampleWeight, grading.Chaff, grading.Stones}},
		{"second", []grading.Field{grading.BrownWeight, grading.ImmatureWeight, grading.PestDamaged, grading.Discoloured, grading.Red}},
	},
}

// sent is what is sent for a reading of a lot of which that is known: what is
// weighed fits into the sample.
func sent(f grading.Field, r *grading.Readings) string {
	grams := func(f grading.Field) float64 { d, _ := r.Get(f); return d.Float() }
	sample := 200.0
	if r.Has(grading.SampleWeight) {
		sample = grams(grading.SampleWeight)
	}
	clean := sample - grams(grading.Chaff) - grams(grading.Stones)
	if r.Has(grading.BrownWeight) {
		clean = grams(grading.BrownWeight) / 0.776
	}
	switch f {
	case grading.Moisture:
		return "13.8"
	case grading.SampleWeight:
		return "200"
	case grading.Chaff:
		return fmt.Sprintf("%.2f", 0.012*sample)
	case grading.Stones:
		return fmt.Sprintf("%.2f", 0.003*sample)
	case grading.BrownWeight:
		return fmt.Sprintf("%.2f", 0.776*clean)
	case grading.ImmatureWeight:
		return fmt.Sprintf("%.2f", 0.005*clean)
	}
	return "1"
}

// behind is the screen that back leads to.
func behind(d *session.Dialogue) session.ScreenID {
	if n := len(d.Trail); n > 0 {
		return d.Trail[n-1]
	}
	return ""
}

// missing is how many readings of a field are still to come.
func missing(f grading.Field, draft *session.Draft) int {
	switch {
	case draft != nil && slices.Contains(draft.Skipped, f), draft != nil && f != grading.Moisture && draft.Readings.Has(f):
		return 0
	case f == grading.Moisture && draft != nil:
		return max(0, 3-len(draft.Readings.Repeats))
	case f == grading.Moisture:
		return 3
	}
	return 1
}

// neededFor is the tool that each reading needs.
var neededFor = map[grading.Field]session.Tool{
	grading.Moisture: session.Meter, grading.SampleWeight: session.Scale, grading.Chaff: session.Sieves, grading.Stones: session.Sieves,
	grading.BrownWeight: session.Husker, grading.ImmatureWeight: session.Husker,
	grading.PestDamaged: session.Pan, grading.Discoloured: session.Pan, grading.Red: session.Pan,
}

// typed is what is sent on the screen of a group: its readings that are still to
// come, all of them anew where none is, and those of all later groups with it where
// every group before has come.
func typed(kit session.Kit, kind session.Kind, at session.ScreenID, draft *session.Draft) string {
	var out []string
	known := &grading.Readings{}
	if draft != nil && at != "sample" && at != "first" {
		known = &draft.Readings
	}
	values := func(fields []grading.Field, count func(grading.Field) int) (out []string) {
		for _, f := range fields {
			out = append(out, slices.Repeat([]string{sent(f, known)}, count(f))...)
		}
		return out
	}
	still := func(f grading.Field) int {
		if f.Kind() == grading.WeightField && !kit.Has(session.Scale) || !kit.Has(neededFor[f]) { // is not asked for
			return 0
		}
		return missing(f, draft)
	}
	if _, ours := own[at]; ours && kind == session.SMS && at != "first" && at != "second" { // the summary leads to the screens of USSD
		kind = session.USSD
	}
	begun, whole := at == "", true // whether the screen's group was passed, and all before it are there
	for _, g := range groupsOf[kind] {
		now := values(g.fields, still)
		switch {
		case g.screen == at && len(now) == 0:
			return strings.Join(values(g.fields, func(f grading.Field) int {
				if f == grading.Moisture {
					return 3
				}
				return 1
			}), " ")
		case g.screen == at || begun:
			if begun = true; whole || g.screen == at {
				out = append(out, now...)
			}
		case len(now) > 0:
			whole = false
		}
	}
	return strings.Join(out, " ")
}

// finish gives how many entries it takes somebody who wants to be done; 0 when
// more than withinEntries. What is refused is left out, as what cannot be measured.
func (w *walk) finish(from *world) (entries int, way []string) {
	at, text, refused := from.clone(), "", session.ScreenID("")
	var begun time.Time // nothing was said of the lot yet
	if d := at.store.dialogues[walker]; d.Current >= 0 && d.Drafts[d.Current].Lot.KG > 0 {
		begun = d.Drafts[d.Current].Started
	}
	it := func(d session.Draft) bool { return d.Started.Equal(begun) }
	for n := 1; n <= withinEntries; n++ {
		d := at.store.dialogues[walker]
		var draft *session.Draft
		if d.Current >= 0 {
			draft = &d.Drafts[d.Current]
		}
		screen := d.Screen
		if behind := behind(&d); screen == "how" && straight[behind] != "" { // what answers the screen behind is taken
			screen = behind
		}
		person, _ := at.store.PersonByPhone(walker)
		kit := person.Kit
		entry, known := straight[screen]
		switch {
		case d.Screen == "doubt":
			grams, _ := draft.Readings.Get(grading.SampleWeight)
			small := strings.HasPrefix(string(behind(&d)), "sample") && grams < 20*grading.One
			if entry = "1"; small || text != "" && !strings.Contains(text, w.say(at, "doubt.right")) {
				entry = "2"
			}
		case d.Screen == "menu":
			entry = "5 " + fmt.Sprint(1+slices.IndexFunc(d.Drafts, it))
		case d.Screen == "whose" && !begun.IsZero(): // come back to
			entry = "0"
		case d.Screen == "whose":
			entry = "1 8 75 " + typed(kit, w.kind, "", nil)
		case d.Screen == "bags" && (draft.Correcting || refused == "bags"):
			entry = "8 75"
		case d.Screen == "bags":
			entry = "8 75 " + typed(kit, w.kind, "", draft)
		case !known && refused == d.Screen:
			entry = "99"
		case !known:
			entry = typed(kit, w.kind, d.Screen, draft)
		}
		way = append(way, fmt.Sprintf("%s: %s", d.Screen, entry))
		text = w.send(at, session.Continue, entry).Text
		for _, c := range at.store.checks {
			if begun.IsZero() || c.Started.Equal(begun) {
				return n, way
			}
		}
		if refused = ""; at.store.dialogues[walker].Memo.Refused {
			refused = at.store.dialogues[walker].Screen
		}
	}
	return 0, append(way, text)
}

// stand names where a check stands, as far as it matters for what comes next.
func stand(w *world, kind session.Kind) string {
	d := w.store.dialogues[walker]
	out := fmt.Sprintf("%s, refused %v", d.Screen, d.Memo.Refused)
	if slices.Contains([]session.ScreenID{"how", "zero", "lack", "doubt"}, d.Screen) {
		out += ", behind it " + string(behind(&d))
	}
	if d.Current < 0 {
		return out
	}
	draft := &d.Drafts[d.Current]
	next := grading.NoField
	for _, g := range groupsOf[kind] {
		for _, f := range g.fields {
			if next == grading.NoField && missing(f, draft) > 0 {
				next = f
			}
		}
	}
	return out + fmt.Sprintf(", bags %v, next %s, corrects %v, %s, smelt %v", draft.Lot.KG > 0, next,
		draft.Correcting, draft.Readings.Looked, slices.Contains(draft.Readings.Flags, grading.Musty))
}

// From every state of an unfinished check at most eight entries file it, going to
// the menu not among them: no screen keeps anybody, and no doubt is without a way on.
func TestEveryUnfinishedCheckIsFiledWithinEightEntries(t *testing.T) {
	if testing.Short() {
		t.Skip("goes everywhere")
	}
	for _, tour := range []struct {
		role session.Role
		kind session.Kind
	}{{session.Agent, session.USSD}, {session.Grower, session.SMS}} {
		t.Run(fmt.Sprintf("%s %s", tour.role, tour.kind), func(t *testing.T) {
			t.Parallel()
			w := &walk{t: t, lang: "en", kind: tour.kind, known: map[string]bool{}}
			start := newWorld(t, "mbuyu-hand", "en")
			known(start, walker, tour.role)
			w.send(start, session.Start, "")
			w.send(start, session.Continue, "1")
			todo, worst := []*world{start}, 0
			for i := 0; i < len(todo); i++ {
				at := todo[i]
				todo[i] = nil
				n, way := w.finish(at)
				if worst = max(worst, n); n == 0 {
					t.Errorf("%s:\nnot filed by %q", stand(at, tour.kind), way)
				}
				for _, entry := range slices.Concat(tried, own[at.store.dialogues[walker].Screen]) {
					next := at.clone()
					w.send(next, session.Continue, entry)
					d := next.store.dialogues[walker]
					grower := d.Screen == "pick" || behind(&d) == "pick" || strings.HasPrefix(string(d.Screen), "add-") // who is sought or added has no check yet
					if name := stand(next, tour.kind); len(next.store.checks) == 0 && d.Current >= 0 && !grower && !w.known[name] {
						w.known[name] = true
						todo = append(todo, next)
					}
				}
			}
			if t.Logf("%d states, at most %d entries", len(todo), worst); len(todo) < 300 {
				t.Errorf("only %d states were found", len(todo))
			}
		})
	}
}
