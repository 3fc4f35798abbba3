package programme

import (
	"time"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session"
)

const (
	// LearnFrom is how many first checks it takes to learn what lots usually hold.
	// After fewer, the stated chances can be further off than without learning. A
	// test of grading says how far off they are after 300.
	LearnFrom = 300
	// LearnMost is how many of the newest checks are looked through: more tell
	// nothing new of a season.
	LearnMost = 3000
	// learnWithin is how long before the newest a check is still of its season;
	// half a year parts two crops. Source: our choice, [ASSUMED-ADVICE].
	learnWithin = 183 * 24 * time.Hour
)

// Learn gives what the programme's lots usually hold, for Advice.Usual, from its
// newest checks, in any order. First checks by the standard in force count, one
// for each lot, as far as they stand and were made by the procedure in force: a re-check is of a lot that is mended or
// known already. It is nil when they are fewer than LearnFrom. n is how many
// counted.
func (p *Programme) Learn(checks []session.Check) (usual map[grading.Field]chance.Usual, n int) {
	var newest time.Time
	for i := range checks {
		if checks[i].At.After(newest) {
			newest = checks[i].At
		}
	}
	var lots []grading.Readings
	for i := range checks {
		c := &checks[i]
		first := c.State == session.Filed && c.Recheck == "" && c.Procedure == session.Procedure
		inForce := c.StandardID == p.Standard.ID && c.Edition == p.Standard.Edition
		if first && inForce && newest.Sub(c.At) <= learnWithin {
			lots = append(lots, c.Readings)
		}
	}
	if len(lots) < LearnFrom {
		return nil, len(lots)
	}
	certainty := p.alone(session.Kit{})
	certainty.Usual = chance.UsualOf(lots, certainty)
	if certainty.Validate() != nil || len(certainty.Usual) == 0 {
		return nil, len(lots)
	}
	return certainty.Usual, len(lots)
}
