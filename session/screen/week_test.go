package screen_test

import (
	"strings"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/programme"
)

// longestWeeks are weeks with the largest numbers and the longest words.
func longestWeeks(district string) *programme.Weeks {
	week := programme.Week{
		Checks: 99999, Before: 99999, ByHand: 99999, InGrade: 99999, Deciding: "damaged_discoloured_sprouted_weevilled", Held: 99999,
		Remedy: "destone", Lifts: 99999, Lots: 99999, Older: 99999, Visits: 99999, Newest: []session.Slip{"7KX3M9A", "7KX3M9A", "7KX3M9A"},
	}
	days := func(last time.Time) programme.SevenDays {
		return programme.SevenDays{Last: last, Districts: map[string]programme.Week{"": week, district: week}}
	}
	return &programme.Weeks{
		Running: days(time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)), Whole: days(time.Date(2026, 11, 22, 0, 0, 0, 0, time.UTC)),
	}
}

// monday is the morning of a digest.
var monday = time.Date(2026, 11, 23, 8, 0, 0, 0, time.UTC)

// coordinated is a world with one coordinator of Upper Mbuyu, and their phone.
func coordinated(t *testing.T, lang session.Language, change func(*session.Person)) (*world, *handset) {
	w := newWorld(t, "agmark-paddy", "en", lang)
	head(w, "+33639983501", "Upper Mbuyu", func(p *session.Person) {
		p.Language = lang
		if change != nil {
			change(p)
		}
	})
	return w, &handset{world: w, number: "+33639983501"}
}

// A digest is one message, or two when the numbers and words are the longest.
func TestADigestFitsTwoMessagesInEveryLanguage(t *testing.T) {
	languages := newWorld(t, "agmark-paddy").machine.Words.Languages()
	if len(languages) < 4 {
		t.Fatalf("languages are %v", languages)
	}
	const two = 2 * 153 // septets of two messages that are joined [TS-23.038]
	for _, lang := range languages {
		w, h := coordinated(t, session.Language(lang), nil)
		w.machine.Weeks = func() *programme.Weeks { return longestWeeks("Upper Mbuyu") }
		text := digestOf(t, w, h, monday)
		if n, ok := count(text); n == 0 || n > two || !ok || strings.ContainsAny(text, "{}") {
			t.Errorf("%s: %d septets, GSM-7 %v: %q", lang, n, ok, text)
		}
		small := longestWeeks("Upper Mbuyu")
		small.Whole.Districts["Upper Mbuyu"] = programme.Week{
			Checks: 142, Before: 138, InGrade: 101, Deciding: "moisture", Held: 39, Remedy: "winnow", Lifts: 29, Lots: 131, Visits: 3, ByHand: 24,
		}
		w.machine.Weeks = func() *programme.Weeks { return small }
		if text = digestOf(t, w, h, monday); len(text) == 0 || !w.fits(text) {
			n, _ := count(text)
			t.Errorf("%s: a usual week takes two messages, %d septets: %q", lang, n, text)
		}
	}
}

func (w *world) fits(text string) bool {
	n, ok := count(text)
	return ok && n <= 160
}

// digestOf fires the coordinator's digest at a time, and gives what was sent.
func digestOf(t *testing.T, w *world, h *handset, at time.Time) (text string) {
	t.Helper()
	w.turns++
	r := session.Reminder{ID: session.ReminderID("digest:head " + h.number), Due: at, Kind: session.DigestKind, Person: session.PersonID("head " + h.number), Phone: h.number}
	out, err := w.machine.Remind(w.store, []session.Reminder{r}, at, [2]uint64{3, w.turns}, budget)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.store.apply(h.number, out); err != nil {
		t.Fatal(err)
	}
	for _, o := range out.Outgoing {
		if o.Purpose != session.Digest || o.To != h.number {
			t.Errorf("%s to %v: %q", o.Purpose, o.To, o.Text)
		}
		text += o.Text
	}
	return text
}

// digestDue is when the coordinator's digest is set for; zero when it is not.
func digestDue(w *world, h *handset) time.Time {
	return w.store.reminders[session.ReminderID("digest:head "+h.number)].Due
}

func TestADigestIsSetForWhoeverIsToHaveIt(t *testing.T) {
	next := monday.AddDate(0, 0, 7)
	cases := []struct {
		name   string
		change func(*session.Person)
		say    []string
		want   time.Time
	}{
		{"a coordinator, whose digest may wait for its figures", nil, []string{"menu", "4", "0", "week"}, time.Time{}},
		{"one who does not want it", nil, []string{"menu", "7", "6"}, time.Time{}},
		{"one who wants it after all", nil, []string{"menu", "7", "6", "6"}, next},
		{"one who stops messages later starts them again", nil, []string{"menu", "stop", "start"}, next},
		{"one who stopped", func(p *session.Person) { p.Stopped = monday }, []string{"menu"}, time.Time{}},
		{"one who has not agreed", func(p *session.Person) { p.Consent = session.Consent{} }, []string{"menu"}, time.Time{}},
		{"one who agrees", func(p *session.Person) { p.Consent = session.Consent{} }, []string{"menu", "1"}, next},
		{"an agent", func(p *session.Person) { p.Role = session.Agent }, []string{"menu"}, time.Time{}},
		{"one who leaves", nil, []string{"menu", "forget me", "1"}, time.Time{}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w, h := coordinated(t, "en", c.change)
			for _, text := range c.say {
				if _, err := h.sms(text); err != nil {
					t.Fatal(err)
				}
			}
			if got := digestDue(w, h); !got.Equal(c.want) {
				t.Errorf("the digest is set for %v, want %v", got, c.want)
			}
		})
	}
}

// A message on a Monday morning must not push the digest of that morning to
// the next week: neither before it is due nor while it waits to be sent, also when
// all that was said before is forgotten since.
func TestATalkOnMondayMorningDoesNotCostTheDigest(t *testing.T) {
	w, h := coordinated(t, "en", nil)
	w.machine.Weeks = func() *programme.Weeks { return longestWeeks("Upper Mbuyu") }
	w.now = monday.Add(-26 * time.Hour)
	if out, err := w.machine.Programme.Digests(w.now)(w.store); err != nil || w.store.apply("", out) != nil {
		t.Fatal(err)
	}
	for _, pause := range []time.Duration{0, 24 * time.Hour, 2*time.Hour + 5*time.Second} {
		w.now = w.now.Add(pause)
		delete(w.store.dialogues, h.number)
		if _, err := h.sms("menu"); err != nil {
			t.Fatal(err)
		}
		if got := digestDue(w, h); !got.Equal(monday) {
			t.Errorf("at %v it is set for %v, want %v", w.now, got, monday)
		}
	}
	if digestOf(t, w, h, monday.Add(20*time.Second)) == "" || !digestDue(w, h).Equal(monday.AddDate(0, 0, 7)) {
		t.Errorf("after it was sent it is set for %v", digestDue(w, h))
	}
}

func TestADigestWaitsForFiguresAndSaysAnEmptyWeek(t *testing.T) {
	w, h := coordinated(t, "en", nil)
	if text := digestOf(t, w, h, monday); text != "" || !digestDue(w, h).Equal(monday.Add(5*time.Minute)) {
		t.Errorf("without figures: %q, and again at %v", text, digestDue(w, h))
	}
	weeks := longestWeeks("Korongo")
	weeks.Whole.Last = weeks.Whole.Last.AddDate(0, 0, -7)
	w.machine.Weeks = func() *programme.Weeks { return weeks }
	if text := digestOf(t, w, h, monday); text != "" {
		t.Errorf("with those of the week before: %q", text)
	}
	weeks.Whole.Last = weeks.Whole.Last.AddDate(0, 0, 7)
	const want = "Upper Mbuyu, week to 22 Nov: no checks, 0 before. STOP ends these."
	if text := digestOf(t, w, h, monday); text != want {
		t.Errorf("an empty week: %q", text)
	}
	if !digestDue(w, h).Equal(monday.AddDate(0, 0, 7)) {
		t.Errorf("after an empty week it is set for %v", digestDue(w, h))
	}
}

func TestNobodyElseGetsADigest(t *testing.T) {
	for name, change := range map[string]func(*session.Person){
		"no coordinator any more": func(p *session.Person) { p.Role = session.Agent },
		"stopped":                 func(p *session.Person) { p.Stopped = monday },
		"forgotten":               func(p *session.Person) { p.Forgotten = true },
		"does not want it":        func(p *session.Person) { p.NoDigest = true },
	} {
		w, h := coordinated(t, "en", change)
		w.machine.Weeks = func() *programme.Weeks { return longestWeeks("Upper Mbuyu") }
		if text := digestOf(t, w, h, monday); text != "" || !digestDue(w, h).IsZero() {
			t.Errorf("%s: %q, and set for %v", name, text, digestDue(w, h))
		}
	}
}

// Digests sets those of coordinators who have not talked to us since there are
// any, and leaves those that are set alone.
func TestDigestsAreSetForAllCoordinators(t *testing.T) {
	w, h := coordinated(t, "en", nil)
	head(w, "+33639983502", "Korongo", func(p *session.Person) { p.NoDigest = true })
	head(w, "+33639983503", "", func(p *session.Person) { p.Role = session.Agent })
	head(w, "+33639983504", "", nil)
	for range 2 {
		out, err := w.machine.Programme.Digests(monday.Add(-time.Minute))(w.store)
		if err != nil || !out.Reply.Silent || len(out.Reminders) != 2 {
			t.Fatalf("%+v, %v", out, err)
		}
		if err := w.store.apply("", out); err != nil {
			t.Fatal(err)
		}
	}
	if got := digestDue(w, h); !got.Equal(monday) {
		t.Errorf("set for %v, want %v", got, monday)
	}
	if len(w.store.reminders) != 2 {
		t.Errorf("set are %v", w.store.reminders)
	}
}
