package main

import (
	"context"
	"maps"
	"math"
	"slices"
	"time"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session"
	"threshline/session/programme"
)

// lastSeason files so many checks before the first step that there is something to
// learn; in every eleventh run, since it takes time.
func (s *simulation) lastSeason() error {
	if !s.hasSeason() {
		return nil
	}
	var season []session.Check
	for i := range programme.LearnFrom + 20 {
		var r grading.Readings
		for field, units := range map[grading.Field]int{
			grading.Moisture: 13 + i%2, grading.SampleWeight: 200, grading.Chaff: 1 + i%5, grading.Counted: 100, grading.Red: i % 4,
		} {
			r.Set(field, grading.NewDecimal(units))
		}
		std := s.station.programme.Standard
		season = append(season, session.Check{
			Slip: session.NewSlip(s.random.Uint64()), State: session.Filed, Procedure: session.Procedure, StandardID: std.ID, Edition: std.Edition, Grade: std.Grades[0].Label,
			Reporter: "agent0", Lot: session.Lot{Grower: "agent0grower0", District: "Kisima", KG: grading.NewDecimal(600)}, Readings: r, At: time.Now().Add(-time.Duration(i) * time.Hour),
		})
	}
	w := session.Writes{Checks: season, Reply: session.Reply{Silent: true}}
	_, err := s.station.store.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil })
	return err
}

// hasSeason reports whether there is enough to learn from.
func (s *simulation) hasSeason() bool { return s.cfg.Programme.LearnUsual && s.seed%11 == 1 }

// learns has the station learn, as it does each day, and holds that it learns what is
// in the checks themselves.
func (s *simulation) learns() {
	next, err := s.station.relearnt(context.Background())
	if err != nil {
		s.wrong(ruleRest, "learn: %w", err)
		return
	}
	if next != nil {
		s.station, s.remind = next, next.remind()
		if s.plant.station != nil {
			s.plant.station(s)
		}
	}
	got := s.station.programme.Advice.Usual
	if len(got) > 0 {
		s.happened.add("learnt")
	}
	want, n := s.station.programme.Learn(slices.Collect(maps.Values(s.truth.checks)), s.station.clock.Sure())
	if !nearly(want, got) {
		s.wrong(ruleLearnt, "learnt %v, and %d checks hold %v", got, n, want)
	}
	if len(got) == 0 && len(s.truth.checks) > programme.LearnFrom+20 && s.firsts() >= programme.LearnFrom {
		s.wrong(ruleLearnt, "nothing is learnt of %d first checks: %d count", s.firsts(), n)
	}
}

// firsts is how many checks with tools are the first of their lot.
func (s *simulation) firsts() (n int) {
	for _, c := range s.truth.checks {
		if c.State == session.Filed && c.First() && !byHands(&c) {
			n++
		}
	}
	return n
}

// nearly reports whether figures are the same but for the order of adding up.
func nearly(a, b map[grading.Field]chance.Usual) bool {
	alike := func(x, y float64) bool { return math.Abs(x-y) < 1e-9 }
	return maps.EqualFunc(a, b, func(x, y chance.Usual) bool { return alike(x.Mean, y.Mean) && alike(x.Deviation, y.Deviation) })
}
