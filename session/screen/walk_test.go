package screen_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/grading"
	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/talk"
)

// keys are what the walk tries on every screen: each menu number, the keys
// that are the same everywhere, and entries with the longest values.
var keys = []string{
	"1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "0", "00", "?", "99", "100", "42",
	"4999 149.75", "0 499999", "13.85 14.15 13.95", "39.95 12.05 25.15", "9999.99", "200", "2.45 0.65", "1999.99 2999.99",
	"5999.99 1999.99", "155.25 1.15", "0 1 2 0", "9999 999 999 999 999", "19.95 499999", "2 3 4 5 6", "199 299", "1 2 3 4 5 6 7",
	"Mwanahamisi-Ramadhani Ab, Wanging'ombe Kaskazini", "Mwana", "Q", "0033639989999", "+447700900999", "7KX3M9A", "STOPP", "-1", "200,000",
}

// paths are sequences that go through a whole check; every place along them is
// walked from. What a role or a standard does not ask is refused and passed over.
var paths = [][]string{
	{"1", "99", "4999 149.75", "1", "13.85 14.15 13.95", "200", "2.45 0.65", "155.25 1.15", "0 1 2 0", "0 1 2", "2 3 4 5 6", "199 299", "1", "1", "0", "2"},
	{"1", "99", "4999 149.75", "1", "13.85 14.15 13.95 1999.99 2.45 0.65", "1555.25 1.15 0 1 2 0", "1555.25 1.15 0 1 2", "1", "3", "1", "3", "12.05"},
	{"1", "99", "0 499999", "1", "29.85 29.15 29.95", "1999.99", "149.95 149.95", "1255.25 99.15", "9 9 9 9", "9 9 9", "1", "1", "1", "00", "5", "2"},
	{"1", "99", "8 75", "1", "99", "1", "99", "1", "99", "2", "1", "1", "1", "0", "3", "3"},
	{"1", "97", "8 75", "1", "13.85 14.15 13.95", "200", "2.45 0.65", "155.25 1.15", "0 1 2 0", "0 1 2", "1", "1", "1"},
	{"1", "97", "8 75", "13.85 14.15 13.95 200 2.45 0.65", "155.25 1.15 0 1 2 0", "155.25 1.15 0 1 2", "1", "1"},
	{"3", "39.95", "499999.95", "1", "9", "9", "9", "00", "3", "39.95 499999.95", "2", "9", "9", "9"},
	{"3", "39.95 499999.95", "3", "9", "9", "9", "00", "3", "39.95 499999.95 4", "9", "9", "9", "00", "3", "39.95 499999.95 5", "9", "9"},
	{"3", "11.95 499999.95 2", "9", "9", "9", "00", "3", "8.95 499999.95 5", "9", "9", "00", "3", "12.95 499999.95 3", "9", "9"},
	{"3", "99", "1", "1", "9", "9", "9", "0", "2", "0", "3", "0", "4", "0", "0", "2", "1", "9", "9", "0", "2"},
	{"1", "99", "8 75", "1", "99", "4", "1", "3", "9", "9"},
	{wholeLot, wholeLot, "2"},
	{"11", "99", "4999 149.75", "1", "5", "1", "4999 1999 999 999", "49 40 8 1", "1", "0", "2", "0", "3", "1"},
	{"11", "99", "0 499999", "3", "1", "0", "00", "11", "99", "7", "1", "99", "200 300 1 6", "199 19 9 9", "50 49 1 1", "50 60 0 0", "99"},
	{"11", "4999 149.75", "1", "99", "2 1 0 1", "1 0 0 0", "1"},
	{"1", "99", "8 75", "1", "99", "2", "99", "1", "2", "1"},
	{"HAND", "99", "200 12 1 6 50 4 0 1", "99", "HAND 200 300 1 6", "HAND 4999 12 1"},
	{"G99 HAND 200 12 1 6 50 4 0 1 BAG 4999 KG 374925", "2", "3", "4"},
	{"G98 HAND 200 12 1 6 50 4 0 1 BAG 12 OK\nG99 HAND 200 40 12 26 50 4 0 1 BAG 4999 BITE 1", "9", "2"},
	{"HELP", "9", "M 13.8 14.1 S 200 O 2.4 I 0.6 zz 4 bag 12"},
	{"G98 M 13 S 200 O 2.4 I 0.6 B 155.2 T 1.1 P 0 Y 1 R 2 V 0 bag 12 mouldy painted hot\nG99 M 13 S 200 bag 9", "9", "2"},
}

// wholeLot is a whole check of the walker's grower: the second time it is the same.
const wholeLot = "G99 M 13.8 14.1 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 P 0 Y 1 R 2 V 0 OK BAG 4999 KG 374925"

// tours are the worlds that the walk goes through in every language.
var tours = []struct {
	standard string
	role     session.Role
	kind     session.Kind
}{
	{"agmark-paddy", session.Agent, session.USSD},
	{"agmark-paddy", session.Agent, session.SMS},
	{"agmark-paddy", session.Grower, session.USSD},
	{"agmark-paddy", session.Grower, session.SMS},
	{"agmark-paddy", session.Buyer, session.USSD},
	{"agmark-paddy", session.Coordinator, session.USSD},
	{"agmark-paddy", session.Coordinator, session.SMS},
	{"agmark-paddy", "", session.USSD},
	{"agmark-paddy", "", session.SMS},
	{standardtest.Demonstration, session.Agent, session.USSD},
	{standardtest.Demonstration, session.Agent, session.SMS},
	{"us-rough-rice", session.Grower, session.USSD},
}

func TestEveryScreenIsReachableFitsAndHasAWayBack(t *testing.T) {
	if testing.Short() {
		t.Skip("goes everywhere")
	}
	languages := newWorld(t, "agmark-paddy").machine.Words.Languages()
	if len(languages) == 0 {
		t.Fatal("no language")
	}
	// English tries every key everywhere. The others leave out, where English stood as
	// well, what made it say nothing new and led it nowhere new.
	english := make([]map[string][]string, len(tours))
	for _, lang := range append([]string{"en"}, slices.DeleteFunc(languages, func(l string) bool { return l == "en" })...) {
		t.Run(lang, func(t *testing.T) {
			if lang != "en" {
				t.Parallel()
			}
			seen := map[session.ScreenID]bool{}
			for i, tour := range tours {
				w := &walk{t: t, lang: session.Language(lang), kind: tour.kind, seen: seen, known: map[string]bool{}, read: map[string]bool{}, worth: english[i]}
				w.from(tour.standard, tour.role)
				if english[i] == nil {
					english[i] = w.worth
				}
			}
			for _, s := range screen.All() {
				if !seen[s.ID] && s.ID != talk.StepScreen { // stood on only after a reminder
					t.Errorf("screen %q was never reached", s.ID)
				}
			}
		})
	}
}

// walk goes everywhere a role can go in one language on one kind of channel.
type walk struct {
	t     *testing.T
	lang  session.Language
	kind  session.Kind
	seen  map[session.ScreenID]bool
	known map[string]bool
	read  map[string]bool // what was said on which screen
	only  map[string]bool // words that only English has
	todo  []*world
	worth map[string][]string // keys by place that lead to something new; nil until it is known
}

// threeMessages is how many septets three joined messages hold [TS-23.040].
const threeMessages = 3 * 153

// walker is whose phone the walk is on.
const walker = session.Phone("+33639989901")

func (w *walk) from(standardID string, role session.Role) {
	start := newWorld(w.t, standardID, w.lang, "en")
	start.machine.Weeks = func() *programme.Weeks { return longestWeeks("Upper Mbuyu") }
	if w.lang == "en" {
		start.machine.Programme.Languages = []session.Language{"en", "fr"}
	}
	if w.only == nil && w.lang != "en" {
		w.only = englishOnly(start.machine.Words, string(w.lang))
	}
	w.people(start, role)
	w.todo = []*world{start}
	first := start.clone()
	w.look(first, w.send(first, session.Start, ""), "dial")
	w.todo = []*world{first}
	for _, path := range paths {
		at := first.clone()
		for _, key := range path {
			next := at.clone()
			r := w.send(next, session.Continue, key)
			d := next.store.dialogues[walker]
			if d.Memo.Refused { // not asked here
				continue
			}
			w.known[w.place(next)] = false
			w.look(next, r, key)
			at = next
		}
	}
	worth, said := map[string][]string{}, map[string]bool{}
	for steps := 0; len(w.todo) > 0; steps++ {
		if steps > 4000 {
			w.t.Fatalf("%s %s: the walk does not end", w.lang, role)
		}
		at := w.todo[0]
		w.todo = w.todo[1:]
		place := w.place(at)
		try, known := w.worth[place]
		switch {
		case !known:
			try = keys
		case !slices.Contains(try, "9"): // a next page that English does not need
			try = append(slices.Clip(try), "9")
		}
		for _, key := range try {
			next, left := at.clone(), len(w.todo)
			r := w.send(next, session.Continue, key)
			w.look(next, r, key)
			if !said[r.Text] || len(w.todo) > left {
				worth[place] = append(worth[place], key)
			}
			said[r.Text] = true
		}
	}
	if w.worth == nil {
		w.worth = worth
	}
}

// people fills the store with the longest names: the walker, an agent's
// growers, a filed check.
func (w *walk) people(start *world, role session.Role) {
	if role == "" {
		return
	}
	longest := "Mwanahamisi-Ramadhani Ab"
	me := session.Person{
		ID: "me", Phone: walker, Role: role, Name: longest, District: "Upper Mbuyu", Village: "Wanging'ombe Kaskazini",
		Language: w.lang, Consent: session.Consent{Version: 1, Given: true},
	}
	start.store.people["me"] = me
	for i := range 3 {
		id := session.PersonID(fmt.Sprintf("g%d", i))
		start.store.people[id] = session.Person{
			ID: id, Role: session.Grower, Name: longest, Village: me.Village, Agent: "me", Short: 97 + i,
			Consent: session.Consent{Version: min(i, 1), Given: i > 0}, Language: w.lang, // the first was never asked
		}
	}
	for grower, at := range map[session.PersonID]int{"g2": 0, "me": 1} { // a lot that nobody may eat: is the next one it?
		c := session.Check{Slip: session.NewSlip(uint64(at + 7)), State: session.Filed, Reporter: "me", At: start.now.Add(-time.Hour), StandardID: start.machine.Programme.Standard.ID}
		c.Lot = session.Lot{Grower: grower, Bags: 4999, BagKG: 1497500, KG: 4999 * 1497500}
		c.Readings.Flags = []grading.Flag{grading.TreatedSeed, grading.Mouldy, grading.OffOdour}
		start.store.checks[c.Slip] = c
	}
	start.store.people["a2"] = session.Person{ID: "a2", Phone: "+447700900999", Role: session.Agent, Language: w.lang}
	start.store.invites["7KX3M9"] = session.Invite{Code: "7KX3M9", Role: session.Agent, Expires: start.now.Add(time.Hour)}
}

func (w *walk) send(at *world, event session.Event, text string) session.Reply {
	in := session.Input{
		Channel: "walk", Kind: w.kind, Event: event, Phone: walker, Text: text, NetworkSession: "walk",
		At: at.now, Entropy: [2]uint64{7, at.turns}, Budget: budget,
	}
	if w.kind == session.SMS {
		in.Event, in.NetworkSession = session.Continue, ""
		d := at.store.dialogues[walker]
		d.Recent = nil // the walk repeats itself and is not to be taken for a loop
		if d.Version > 0 {
			at.store.dialogues = maps.Clone(at.store.dialogues)
			at.store.dialogues[walker] = d
		}
		if event == session.Start {
			in.Text = "menu"
		}
	}
	out, err := at.machine.Step(at.store, in)
	if err != nil {
		w.t.Fatal(err)
	}
	if err := at.store.apply(walker, out); err != nil {
		w.t.Fatal(err)
	}
	at.turns++
	at.now = at.now.Add(time.Second)
	return out.Reply
}

// look examines what came back and, when the place is new, walks on from it.
func (w *walk) look(at *world, r session.Reply, key string) {
	d := at.store.dialogues[walker]
	where := fmt.Sprintf("%s %s: %q on %q", w.lang, w.kind, key, d.Screen)
	if on := fmt.Sprint(d.Screen, d.Memo.Lead, r.Silent, "\x00", r.Text); !w.read[on] {
		w.read[on] = true
		w.examine(at, r, key, where)
	}
	w.seen[d.Screen] = true
	if d.Screen == "" {
		return // the dialogue is over
	}
	place := w.place(at)
	if w.known[place] || w.kind == session.SMS && r.Silent {
		return
	}
	w.known[place] = true
	w.goBack(at, where)
	w.todo = append(w.todo, at)
}

// examine holds what came back against what every answer must be.
func (w *walk) examine(at *world, r session.Reply, key, where string) {
	d := at.store.dialogues[walker]
	most := budget.Septets
	if d.Screen == "lots" {
		most = threeMessages
	}
	if n, ok := count(r.Text); !ok || n > most {
		w.t.Errorf("%s: %d septets, GSM-7 %v:\n%s", where, n, ok, r.Text)
	}
	step := slices.Contains([]session.ScreenID{"bags", "moisture", "sample", "dirt", "husk", "pan", "insects",
		"dry", "dry-kg", "dry-keep", "dry-test", "dry-bite", "dry-salt",
		"hand-offer", "hand-bite", "hand-salt", "hand-count", "hand-husk"}, d.Screen)
	if step && d.Memo.Lead == "" && w.kind == session.USSD && strings.Contains(r.Text, w.say(at, "foot.more")) {
		w.t.Errorf("%s: what is asked does not fit one screen:\n%s", where, r.Text)
	}
	if key, twice := sameKeyTwice(r.Text); twice && d.Memo.Lead == "" {
		w.t.Errorf("%s: key %s stands for two things:\n%s", where, key, r.Text)
	}
	if strings.ContainsAny(r.Text, "{}") {
		w.t.Errorf("%s: a placeholder is not filled:\n%s", where, r.Text)
	}
	if r.Text == "" && !r.Silent {
		w.t.Errorf("%s: nothing is said", where)
	}
	own, err := at.store.PersonByPhone(walker)
	for _, word := range plainWords(r.Text) {
		if err == nil && own.Language == w.lang && w.only[word] && !strings.Contains(strings.ToLower(key), word) {
			w.t.Errorf("%s: says %q, which only English does:\n%s", where, word, r.Text)
		}
	}
}

func (w *walk) say(at *world, key string) string {
	return at.machine.Words.Text(string(w.lang), key)
}

// place names where a dialogue stands: places of one name are walked from once.
func (w *walk) place(at *world) string {
	d := at.store.dialogues[walker]
	if strings.HasPrefix(string(d.Screen), "dry") { // all that they say: TestCautionsOfDryingAreNeverCut
		return fmt.Sprintf("%s/%d", d.Screen, d.Page)
	}
	return fmt.Sprintf("%s/%d/%d/%v", d.Screen, d.Page, min(len(d.Drafts), 1), d.Memo.ForCheck)
}

// goBack proves a way to the main menu, and that going back again and again
// ends there too.
func (w *walk) goBack(at *world, where string) {
	home := at.clone()
	w.send(home, session.Continue, "00")
	person, err := at.store.PersonByPhone(walker)
	agreed := err == nil && person.Consent.Given
	if id := home.store.dialogues[walker].Screen; agreed && id != talk.MenuScreen {
		w.t.Errorf("%s: 00 leads to %q", where, id)
	}
	back := at.clone()
	for range 60 {
		id := back.store.dialogues[walker].Screen
		if id == talk.MenuScreen || !agreed {
			return
		}
		if id == talk.ZeroScreen {
			w.send(back, session.Continue, "2")
			continue
		}
		w.send(back, session.Continue, "0")
	}
	w.t.Errorf("%s: 0 again and again never leads to the menu", where)
}

// clone is a world of its own with the same past: see store.apply.
func (w *world) clone() *world {
	c := *w
	s := *w.store
	s.outgoing, s.notes = slices.Clip(s.outgoing), slices.Clip(s.notes)
	c.store = &s
	return &c
}
