package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/demo"
	"threshline/cmd/threshline/feed"
	"threshline/gateway/gsm"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/store/bolt"
	"threshline/session/wording"
)

// weekSite is the demonstration's season in a store, with a few lots in danger,
// and the feed of its ledger.
func weekSite(t *testing.T, now time.Time) (*feed.Feed, *bolt.Store, *programme.Programme, []session.Check) {
	t.Helper()
	cfg := valley(t)
	p, _, err := cfg.Build()
	if err != nil {
		t.Fatal(err)
	}
	store, err := bolt.Open(filepath.Join(t.TempDir(), "week.db"), bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	if _, err := demo.File(t.Context(), store, p, now); err != nil {
		t.Fatal(err)
	}
	all, err := store.Filed(t.Context(), 0, 10*demo.Checks)
	if err != nil {
		t.Fatal(err)
	}
	endanger(t, store, p, all)
	if all, err = store.Filed(t.Context(), 0, 10*demo.Checks); err != nil {
		t.Fatal(err)
	}
	f, err := feed.New(store, p)
	if err != nil {
		t.Fatal(err)
	}
	return f, store, p, all
}

// endanger makes some of the newest lots mouldy, infested or wet, withdraws
// one, and has another found sound again.
func endanger(t *testing.T, store *bolt.Store, p *programme.Programme, all []session.Check) {
	t.Helper()
	newest := slices.Clone(all[len(all)-40:])
	sound := newest[len(newest)-1]
	for i := range newest {
		c := &newest[i]
		switch i % 8 {
		case 1:
			c.Readings.Flags = []grading.Flag{grading.Mouldy}
		case 3:
			c.Readings.Set(grading.LiveOthers, grading.One)
		case 5:
			c.Readings.Repeats = []grading.Decimal{190000, 191000, 190000}
		case 6:
			c.State, c.Readings.Flags = session.Withdrawn, []grading.Flag{grading.Musty}
		}
		if err := demo.Judge(c, p); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 9 { // by hand: in no figure but their own, and to visit where insects were seen
		c := newest[len(newest)-2-i]
		c.Slip, c.Version, c.State, c.Recheck = session.NewSlip(uint64(100+i)), 0, session.Filed, ""
		c.Readings = grading.Readings{Hand: grading.Hand{Grains: 200, Empty: 9}}
		c.Grade, c.Rank, c.Of, c.Deciding, c.Remedy, c.Values = "", 0, 0, nil, "", nil
		if i%3 == 0 {
			c.Readings.Set(grading.LiveOthers, grading.One)
		}
		newest = append(newest, c)
	}
	again := sound
	again.Slip, again.Version, again.State, again.Recheck = session.NewSlip(5), 0, session.Filed, newest[1].Slip
	again.Lot = newest[1].Lot
	if err := demo.Apply(t.Context(), store, session.Writes{Checks: append(newest, again)}); err != nil {
		t.Fatal(err)
	}
}

// by is a slow count over the store's checks that shares no code with the
// ledger: those that a district, or all, filed from one day to another.
type by struct {
	checks, hand, lots, inGrade, visits int
	deciding                            map[grading.ParameterID]int
}

func slowly(p *programme.Programme, all []session.Check, district string, from, to string) by {
	out := by{deciding: map[grading.ParameterID]int{}}
	followed := map[session.Slip]bool{}
	for _, c := range all {
		followed[c.Recheck] = followed[c.Recheck] || c.State == session.Filed
	}
	for _, c := range all {
		day := c.At.In(p.Zone).Format(time.DateOnly)
		if c.State != session.Filed || day < from || day > to || district != "" && c.Lot.District != district {
			continue
		}
		if c.Readings.Hand.Grains > 0 {
			out.hand++
			if c.Readings.Has(grading.LiveOthers) {
				out.visits++
			}
			continue
		}
		out.checks++
		if followed[c.Slip] {
			continue // the lot counts where it was checked again
		}
		out.lots++
		if c.Rank <= c.Of {
			out.inGrade++
		}
		for _, id := range c.Deciding {
			out.deciding[id]++
		}
		wet := c.Readings.MeanMoisture().Cmp(18*grading.One) > 0
		weevils, _ := c.Readings.Get(grading.LiveWeevils)
		others, _ := c.Readings.Get(grading.LiveOthers)
		if wet || weevils+others > 0 || len(c.Readings.Flags) > 0 {
			out.visits++
		}
	}
	return out
}

// What a coordinator is told of the week is what the ledger says of the same
// checks, district by district, and what a slow count over the store says.
func TestAWeekIsWhatTheLedgerAndTheStoreSay(t *testing.T) {
	now := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC) // a Wednesday
	f, _, p, all := weekSite(t, now)
	if err := f.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	f.ReckonWeeks(t.Context(), now)
	weeks := f.Weeks.Load()
	if got := weeks.Running.Last.Format(time.DateOnly) + " " + weeks.Whole.Last.Format(time.DateOnly); got != "2026-11-25 2026-11-22" {
		t.Errorf("the weeks end on %s", got)
	}
	visits, hands := 0, 0
	for _, span := range []struct {
		days                programme.SevenDays
		from, to, was, till string
	}{
		{weeks.Running, "2026-11-19", "2026-11-25", "2026-11-12", "2026-11-18"},
		{weeks.Whole, "2026-11-16", "2026-11-22", "2026-11-09", "2026-11-15"},
	} {
		for _, district := range append([]string{""}, p.Districts...) {
			w, slow := span.days.Districts[district], slowly(p, all, district, span.from, span.to)
			before := slowly(p, all, district, span.was, span.till)
			most := 0
			for _, n := range slow.deciding {
				most = max(most, n)
			}
			if w.Checks != slow.checks || w.Lots != slow.lots || w.Before != before.checks || w.ByHand != slow.hand || w.InGrade != slow.inGrade || w.Visits != slow.visits || w.Held != most || slow.deciding[w.Deciding] != most {
				t.Errorf("%s %q: %+v; counted slowly %+v, before %d", span.to, district, w, slow, before.checks)
			}
			if w.Checks == 0 || len(w.Newest) != min(w.Visits, feed.MostNewest) {
				t.Errorf("%s %q: %d checks, to visit %d, newest %v", span.to, district, w.Checks, w.Visits, w.Newest)
			}
			visits += w.Visits
			hands += w.ByHand
			theLedgerSays(t, f.Ledger.View(), span.days.Last, district, w)
		}
	}
	if visits < 8 || hands < 8 {
		t.Errorf("only %d lots to visit, and %d checks by hand: nothing was tried", visits, hands)
	}
}

// In the week in which the procedure changed, figures are of the newer edition: the
// lots of the older are counted and told apart, and visits are of all.
func TestAWeekDoesNotMixEditionsOfTheProcedure(t *testing.T) {
	f, _, p, all := weekSite(t, time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC))
	var newer []session.Check
	for i := range all {
		all[i].Procedure = 1
		if all[i].At.After(time.Date(2026, 11, 22, 12, 0, 0, 0, time.UTC)) {
			all[i].Procedure = 2
			newer = append(newer, all[i])
		}
	}
	l := ledger.New(ledger.Settings{Zone: p.Zone, Standards: f.Known, Advice: p.Advice, Dangers: p.Dangers})
	l.Apply(all...)
	week := feed.SevenDays(l.View(), p, time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC))
	for _, district := range append([]string{""}, p.Districts...) {
		w := week.Districts[district]
		every, newest := slowly(p, all, district, "2026-11-19", "2026-11-25"), slowly(p, newer, district, "2026-11-19", "2026-11-25")
		if w.Checks != every.checks || w.Visits != every.visits {
			t.Errorf("%q: %d checks and %d to visit, want those of both editions: %d and %d", district, w.Checks, w.Visits, every.checks, every.visits)
		}
		if w.Lots != newest.lots || w.InGrade != newest.inGrade || w.Older != every.lots-newest.lots || w.Older == 0 || w.Held != newest.deciding[w.Deciding] {
			t.Errorf("%q: %+v; want %+v of the newer edition alone, and %d older lots", district, w, newest, every.lots-newest.lots)
		}
	}
	if once := feed.SevenDays(l.View(), p, time.Date(2026, 11, 21, 0, 0, 0, 0, time.UTC)).Districts[""]; once.Lots == 0 || once.Older != 0 {
		t.Errorf("a week of the older edition alone has %d lots, and %d that are left out", once.Lots, once.Older)
	}
}

// theLedgerSays asks for a district by itself.
func theLedgerSays(t *testing.T, v *ledger.View, last time.Time, district string, w programme.Week) {
	t.Helper()
	f := ledger.Filter{From: last.AddDate(0, 0, -6), To: last}
	if district != "" {
		f.Districts = []string{district}
	}
	s, what := v.Summary(f), v.WhatIf(f)
	most := 0
	for _, o := range what.ThisLot {
		most = max(most, o.Lifted)
	}
	if w.Checks != s.Checks || w.InGrade != s.InGrade.Count || w.Lots != what.Lots || w.Lifts != most || (w.Remedy == "") != (most == 0) {
		t.Errorf("%q: %+v; the ledger has %d checks, %d in grade, and %d of %d lots lifted", district, w, s.Checks, s.InGrade.Count, most, what.Lots)
	}
	if w.Remedy != "" && what.Option(w.Remedy).Lifted != most {
		t.Errorf("%q: %s lifts %d lots, the best remedy %d", district, w.Remedy, what.Option(w.Remedy).Lifted, most)
	}
}

// A coordinator's text is answered by the figures as they stand; nothing is
// said before there are any, and they are not reckoned at every look.
func TestAWeekIsReckonedBesideTheDialogue(t *testing.T) {
	now := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	f, store, p, all := weekSite(t, now)
	coordinator := session.Person{
		ID: "k", Phone: "+33639980099", Role: session.Coordinator, Name: "Wema", District: "Kisima", Language: "en",
		Consent: session.Consent{Version: p.ConsentVersion, Given: true},
	}
	if err := demo.Apply(t.Context(), store, session.Writes{People: []session.Person{coordinator}}); err != nil {
		t.Fatal(err)
	}
	words, err := wording.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	machine := screen.NewMachine(p, words)
	machine.Weeks = f.Weeks.Load
	ask := func() (text string) {
		err := store.Read(t.Context(), func(v session.View) error {
			w, err := machine.Step(v, session.Input{
				Channel: "valley-sms", Kind: session.SMS, Phone: coordinator.Phone, Text: "week", At: now,
				Budget: session.Budget{Septets: 160, Count: gsm.Count},
			})
			text = w.Reply.Text
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	if got := ask(); !strings.HasPrefix(got, "The figures are not ready yet.") {
		t.Errorf("before anything is reckoned: %q", got)
	}
	if err := f.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	f.ReckonWeeks(t.Context(), now)
	first := f.Weeks.Load()
	if got := ask(); !strings.HasPrefix(got, "Kisima, week to 25 Nov: ") {
		t.Errorf("after it was: %q", got)
	}
	f.ReckonWeeks(t.Context(), now.Add(time.Hour))
	if f.Weeks.Load() != first {
		t.Error("reckoned again though nothing was filed")
	}
	more := all[len(all)-1]
	more.Slip, more.Version, more.At = session.NewSlip(77), 0, now
	if err := demo.Apply(t.Context(), store, session.Writes{Checks: []session.Check{more}}); err != nil {
		t.Fatal(err)
	}
	if err := f.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	f.ReckonWeeks(t.Context(), now.Add(4*time.Hour)) // however slow this machine is
	if got, want := f.Weeks.Load().Running.Districts[""].Checks, first.Running.Districts[""].Checks+1; got != want {
		t.Errorf("%d checks after one more, want %d", got, want)
	}
	f.ReckonWeeks(t.Context(), now.Add(24*time.Hour))
	if got := f.Weeks.Load().Running.Last.Format(time.DateOnly); got != "2026-11-26" {
		t.Errorf("the day after, the week ends on %s", got)
	}
}

// A coordinator who was one before there were digests gets theirs set by the
// running gateway, and what is due now is not put off by that. All are gone
// through once a day, not at every round.
func TestAStartSetsTheDigestsOfThoseWhoHaveNone(t *testing.T) {
	cfg := valley(t)
	s, err := openStation(cfg, filepath.Join(t.TempDir(), "digest.db"), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	now, remind := time.Now(), s.remind()
	people := demo.People(now)
	due := session.Reminder{ID: "digest:coordinator-1", Due: now.Add(-time.Minute), Kind: session.DigestKind, Person: "coordinator-1", Phone: people[len(people)-1].Phone}
	if err := demo.Apply(t.Context(), s.store, session.Writes{People: people, Reminders: []session.Reminder{due}}); err != nil {
		t.Fatal(err)
	}
	set := func() (at time.Time) {
		list, err := s.store.Due(t.Context(), now.AddDate(0, 0, 8), 100)
		if err != nil || len(list) != 1 || list[0].ID != due.ID {
			t.Fatalf("set are %+v, %v", list, err)
		}
		return list[0].Due
	}
	if more, err := remind(t.Context(), now); !more || err != nil { // no figures yet: it waits
		t.Fatalf("%v, %v", more, err)
	}
	if at := set(); at.Before(now) || at.After(now.Add(10*time.Minute)) {
		t.Errorf("without figures the digest waits until %v", at)
	}
	if err := demo.Apply(t.Context(), s.store, session.Writes{Reminders: []session.Reminder{{ID: due.ID, Cancel: true}}}); err != nil {
		t.Fatal(err)
	}
	if more, err := remind(t.Context(), now); more || err != nil {
		t.Fatalf("%v, %v", more, err)
	}
	at := set().In(s.programme.Zone)
	if at.Weekday() != time.Monday || at.Hour() != 8 || at.Minute() != 0 || !at.After(now) {
		t.Errorf("the digest is set for %v", at)
	}
	if err := demo.Apply(t.Context(), s.store, session.Writes{Reminders: []session.Reminder{{ID: due.ID, Cancel: true}}}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		at  time.Time
		set int
	}{{now, 0}, {now.AddDate(0, 0, 1), 1}} {
		if more, err := remind(t.Context(), c.at); more || err != nil {
			t.Fatalf("%v, %v", more, err)
		}
		if list, err := s.store.Due(t.Context(), now.AddDate(0, 0, 15), 100); err != nil || len(list) != c.set {
			t.Errorf("at %v: set are %+v, %v, want %d", c.at, list, err, c.set)
		}
	}
}

// A gateway whose clock is behind leaves the week alone that one ahead of it has sent.
func TestAGatewayBehindDoesNotSetTheSameWeekAgain(t *testing.T) {
	s, err := openStation(valley(t), filepath.Join(t.TempDir(), "digest.db"), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	people := demo.People(time.Now())
	monday := s.programme.NextMonday(time.Now())
	next := session.DigestOf(&people[len(people)-1], s.programme.NextMonday(monday))
	if err := demo.Apply(t.Context(), s.store, session.Writes{People: people, Reminders: []session.Reminder{next}}); err != nil {
		t.Fatal(err)
	}
	if more, err := s.remind()(t.Context(), monday.Add(-session.ClocksApart)); more || err != nil {
		t.Fatalf("%v, %v", more, err)
	}
	if list, err := s.store.Due(t.Context(), next.Due, 100); err != nil || len(list) != 1 || !list[0].Due.Equal(next.Due) {
		t.Errorf("set are %+v, %v, want it at %v", list, err, next.Due)
	}
}
