package programme_test

import (
	"math"
	"testing"
	"time"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard/standardtest"
	"threshline/session"
	"threshline/session/programme"
)

// harvest is after all lots were checked.
var harvest = time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC)

// lots are n first checks, an hour apart: every second lot holds 1 % of red
// grains, the others 3 %, in counts large enough to say so.
func lots(s *grading.Standard, n int) (checks []session.Check) {
	for i := range n {
		c := session.Check{State: session.Filed, Procedure: session.Procedure, StandardID: s.ID, Edition: s.Edition, At: time.Date(2026, 11, 1, i, 0, 0, 0, time.UTC)}
		c.Readings.Set(grading.Counted, grading.NewDecimal(100_000))
		c.Readings.Set(grading.Red, grading.NewDecimal(1000+2000*(i%2)))
		checks = append(checks, c)
	}
	return checks
}

// TestASeasonTeachesWhatLotsHold: half the lots at 1 % and half at 3 % are 2 % in
// the mean, and lie a point about it.
func TestASeasonTeachesWhatLotsHold(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	p := &programme.Programme{Standard: s}
	usual, n := p.Learn(lots(s, programme.LearnFrom), harvest)
	if red := usual[grading.Red]; n != programme.LearnFrom || math.Abs(red.Mean-2) > 1e-9 || math.Abs(red.Deviation-1) > 0.01 {
		t.Errorf("of %d lots: red %+v, want 2 by 1", n, red)
	}
	for _, c := range []struct {
		name   string
		change func(c *session.Check)
	}{
		{"one too few", func(c *session.Check) { c.State = session.Withdrawn }},
		{"one of them a re-check", func(c *session.Check) { c.Recheck = "K7M2QX9" }},
		{"one of them by another table", func(c *session.Check) { c.StandardID = "agmark-paddy" }},
		{"one of them by another edition", func(c *session.Check) { c.Edition = "older" }},
		{"one of them by an older procedure", func(c *session.Check) { c.Procedure = 1 }},
		{"one of them by hand", func(c *session.Check) { c.Readings = grading.Readings{Hand: grading.Hand{Grains: 200}} }},
		{"one of them of last season", func(c *session.Check) { c.At = c.At.AddDate(-1, 0, 0) }},
	} {
		list := lots(s, programme.LearnFrom)
		c.change(&list[7])
		if usual, n := p.Learn(list, harvest); usual != nil || n != programme.LearnFrom-1 {
			t.Errorf("%s: learnt %v of %d", c.name, usual, n)
		}
	}
}

// The check with tools after one by hand is the first of its lot.
func TestACheckAfterOneByHandTeaches(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	p := &programme.Programme{Standard: s}
	list := lots(s, programme.LearnFrom)
	for i := range list {
		list[i].Recheck, list[i].AfterHand = "K7M2QX9", true
	}
	if usual, n := p.Learn(list, harvest); usual == nil || n != programme.LearnFrom {
		t.Errorf("learnt %v of %d", usual, n)
	}
}

// One check of a clock that was years ahead makes no other one of last season.
func TestACheckOfAClockAheadEndsNoSeason(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	p := &programme.Programme{Standard: s}
	list := lots(s, programme.LearnFrom)
	list[7].At = list[7].At.AddDate(4, 0, 0)
	if usual, n := p.Learn(list, harvest); usual == nil || n != programme.LearnFrom {
		t.Errorf("learnt %v of %d", usual, n)
	}
}

// TestWhatWasLearntMovesTheChancesNotTheGrade: 3 of 100 red is over the 2 % of
// the best grade; where lots usually hold half a percent, the lot itself is
// likelier to hold less than its sample says.
func TestWhatWasLearntMovesTheChancesNotTheGrade(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	var r grading.Readings
	r.Set(grading.Counted, grading.NewDecimal(100))
	r.Set(grading.Red, grading.NewDecimal(3))
	plain, learnt := &programme.Programme{Standard: s}, &programme.Programme{Standard: s}
	learnt.Advice.Usual = map[grading.Field]chance.Usual{grading.Red: {Mean: 0.5, Deviation: 0.5}}
	at := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)
	one, err := plain.Judge(session.Lot{}, r, session.Kit{}, at, nil)
	if err != nil {
		t.Fatal(err)
	}
	two, err := learnt.Judge(session.Lot{}, r, session.Kit{}, at, nil)
	if err != nil {
		t.Fatal(err)
	}
	was, is := one.Result.Parameter("red"), two.Result.Parameter("red")
	if was.Grade != is.Grade || was.Shown != is.Shown || !(is.MeetsNext > was.MeetsNext+0.1) {
		t.Errorf("%s %s %% red, %.3f to meet the next limit; with what was learnt %s %s %%, %.3f",
			was.Grade, was.Shown, was.MeetsNext, is.Grade, is.Shown, is.MeetsNext)
	}
}
