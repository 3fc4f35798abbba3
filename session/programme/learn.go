package programme

import (
	"time"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session"
)

const (
	// LearnFrom is how many first checks are needed to learn what lots usually hold.
	// With fewer, the stated chances can be further off than without learning. A test
	// of grading says how far off they are after 300.
	LearnFrom = 300
	// LearnMost is how many of the newest checks are read. More would tell nothing new
	// about a season.
	LearnMost = 3000
	// learnWithin is how long before the newest check the season may have begun; half a
	// year parts two crops. Source: our choice, [ASSUMED-ADVICE].
	learnWithin = 183 * 24 * time.Hour
)

// Learn works out what the programme's lots usually hold, for Advice.Usual, from its
// newest checks, in any order. It counts one check a lot: the first, by the standard
// and the procedure in force, if it stands. A re-check does not count, because its lot
// was mended or is known already, nor a check by hand, which measures nothing: the
// check after it is the first. A check that is later than now is of a clock that was
// ahead: it counts, but begins no season. Learn returns nil if fewer than LearnFrom
// count. n is how many count.
func (p *Programme) Learn(checks []session.Check, now time.Time) (usual map[grading.Field]chance.Usual, n int) {
	var newest time.Time
	for i := range checks {
		if at := checks[i].At; at.After(newest) && !at.After(now) {
			newest = checks[i].At
		}
	}
	var lots []grading.Readings
	for i := range checks {
		c := &checks[i]
		first := c.State == session.Filed && c.First() && c.Procedure == session.Procedure && !c.Readings.ByHand()
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
