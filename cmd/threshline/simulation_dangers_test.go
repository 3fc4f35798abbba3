package main

import (
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

// told is a coordinator's phone and what lot it is told of.
type told struct {
	phone session.Phone
	slip  session.Slip
}

// dangerTold holds that every coordinator of the district hears of a danger, by a
// message of its own or by one that is joined later.
func (t *truth) dangerTold(s *simulation, c *session.Check) {
	dangers := slices.DeleteFunc(slices.Clone(c.Readings.Flags), func(f grading.Flag) bool {
		return f == grading.TooWet || f == grading.VeryWet && c.Readings.Has(grading.Moisture) // a meter says it better
	})
	if len(dangers) == 0 || c.State != session.Filed {
		return
	}
	s.read(func(v session.View) error {
		people, err := v.Coordinators()
		for _, p := range people {
			mine := p.District == "" || c.Lot.District == "" || p.District == c.Lot.District
			if p.ID != c.Reporter && p.Writable() && mine && !t.waiting[told{p.Phone, c.Slip}] {
				s.wrong(ruleDanger, "%s is not told of %v in %s", p.ID, c.Readings.Flags, c.Slip)
			}
		}
		return err
	})
}

// checkSigns holds that what a whole check said of its signs is in what it filed.
func (t *truth) checkSigns(s *simulation, m *simMessage, flag grading.Flag) {
	if m == nil || m.filed == 0 {
		return
	}
	c := t.checks[t.slips[len(t.slips)-1]]
	if flag != "" && !slices.Contains(c.Readings.Flags, flag) {
		s.wrong(ruleDanger, "%q filed %s with %v", m.text, c.Slip, c.Readings.Flags)
	}
}

// lookedUp holds that whoever looks up a lot that nobody may eat is told so, by
// an answer that no limit holds back.
func (t *truth) lookedUp(s *simulation, p *simPerson, slip session.Slip, answers []session.Outgoing) {
	c := t.checks[slip]
	if len(answers) == 0 || !t.poisoned(c) || c.State != session.Filed {
		return
	}
	var d session.Dialogue
	s.read(func(v session.View) (err error) {
		d, err = v.Dialogue(p.number)
		return err
	})
	// Where a name is asked for, a slip is taken for one.
	if d.Screen == talk.SlipScreen && !slices.ContainsFunc(answers, func(o session.Outgoing) bool { return o.To == p.number && o.Purpose == session.Safety }) {
		s.wrong(ruleDanger, "%s, which holds %v, is shown as %q", slip, c.Readings.Flags, answers[0].Text)
	}
}

// poisoned reports whether a lot, or one that it is a re-check of, held what
// does not go away.
func (t *truth) poisoned(c session.Check) bool {
	for range 100 {
		for _, flag := range []grading.Flag{grading.Mouldy, grading.TreatedSeed, grading.OffOdour} {
			if slices.Contains(c.Readings.Flags, flag) {
				return true
			}
		}
		before, ok := t.checks[c.Recheck]
		if !ok {
			return false
		}
		c = before
	}
	return false
}
