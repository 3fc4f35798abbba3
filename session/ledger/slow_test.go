package ledger_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// slow is the second computation: the same questions, answered from the checks
// themselves, one question at a time, with nothing of the ledger's.
type slow struct {
	checks []session.Check // in their last state
	known  []*grading.Standard
	zone   *time.Location

	bySlip map[session.Slip]*session.Check
	after  map[session.Slip]int // filed re-checks
}

func newSlow(checks []session.Check, known []*grading.Standard, zone *time.Location) *slow {
	s := &slow{checks: checks, known: known, zone: zone, bySlip: map[session.Slip]*session.Check{}, after: map[session.Slip]int{}}
	for i := range checks {
		s.bySlip[checks[i].Slip] = &checks[i]
	}
	for i := range checks {
		if b := s.before(&checks[i]); b != nil && checks[i].State == session.Filed {
			s.after[b.Slip]++
		}
	}
	return s
}

func (s *slow) find(slip session.Slip) *session.Check { return s.bySlip[slip] }

// before is the check that c re-checks, or what replaced that.
func (s *slow) before(c *session.Check) *session.Check {
	if c.Recheck == "" {
		return nil
	}
	b := s.find(c.Recheck)
	for b != nil && b.State == session.Corrected && b.ReplacedBy != "" {
		b = s.find(b.ReplacedBy)
	}
	if b != nil && b.Slip == c.Slip {
		return nil
	}
	return b
}

func (s *slow) followed(c *session.Check) bool { return s.after[c.Slip] > 0 }

func (s *slow) kind(f *ledger.Filter, c *session.Check) bool {
	switch f.Kind {
	case ledger.FirstCheck:
		return c.Recheck == ""
	case ledger.ReCheck:
		return c.Recheck != ""
	case ledger.LastCheck:
		return !s.followed(c)
	}
	return true
}

func (s *slow) state(f *ledger.Filter, c *session.Check) bool {
	switch f.State {
	case ledger.WasCorrected:
		return c.State == session.Corrected
	case ledger.WasWithdrawn:
		return c.State == session.Withdrawn
	case ledger.AnyState:
		return true
	}
	return c.State == session.Filed
}

// rest is all of a filter but kind and state.
func (s *slow) rest(f *ledger.Filter, c *session.Check) bool {
	day := c.At.In(s.zone).Format(time.DateOnly)
	eq := func(want, got string) bool { return want == "" || want == got }
	return (f.From.IsZero() || day >= f.From.Format(time.DateOnly)) && (f.To.IsZero() || day <= f.To.Format(time.DateOnly)) &&
		(len(f.Districts) == 0 || slices.Contains(f.Districts, c.Lot.District)) &&
		eq(f.Village, c.Lot.Village) && eq(f.Variety, c.Lot.Variety) && eq(f.Channel, c.Channel) &&
		eq(string(f.Agent), string(c.Agent)) && eq(string(f.Reporter), string(c.Reporter)) && eq(string(f.Grower), string(c.Lot.Grower)) &&
		eq(f.Standard, c.StandardID) && eq(f.Edition, c.Edition) && eq(string(f.Grade), string(c.Grade)) &&
		(f.Deciding == "" || slices.Contains(c.Deciding, f.Deciding)) && (f.Gate == "" || slices.Contains(c.Gates, f.Gate)) &&
		eq(string(f.Remedy), string(c.Remedy)) && (!f.OnlyBorderline || c.Borderline) && (!f.OnlyLacking || !c.Complete)
}

func (s *slow) chosen(f *ledger.Filter) (list []*session.Check) {
	for i := range s.checks {
		if c := &s.checks[i]; s.rest(f, c) && s.kind(f, c) && s.state(f, c) {
			list = append(list, c)
		}
	}
	return list
}

func count(list []*session.Check, has func(*session.Check) bool) (n int) {
	for _, c := range list {
		if has(c) {
			n++
		}
	}
	return n
}

func weight(list []*session.Check, has func(*session.Check) bool) (kg grading.Decimal) {
	for _, c := range list {
		if has(c) {
			kg += c.Lot.KG
		}
	}
	return kg
}

func inGrade(c *session.Check) bool { return c.Rank <= c.Of }

// facts are a summary as lines of text, which both computations write.
func (s *slow) facts(f *ledger.Filter) (lines []string) {
	list := s.chosen(f)
	n := len(list)
	say := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	gone := func(state session.CheckState) (n int) {
		for i := range s.checks {
			if c := &s.checks[i]; s.rest(f, c) && s.kind(f, c) && c.State == state {
				n++
			}
		}
		return n
	}
	all := func(*session.Check) bool { return true }
	lots := s.lots(f, list)
	say("checks %d corrected %d withdrawn %d", n, gone(session.Corrected), gone(session.Withdrawn))
	say("kg %s weighed %d", weight(lots, all), count(lots, func(c *session.Check) bool { return c.Lot.KG > 0 }))
	s.groups(f, list, say)
	list, n = lots, len(lots)
	say("in grade %d best %d borderline %d incomplete %d of %d", count(list, inGrade), count(list, func(c *session.Check) bool { return c.Rank == 1 }),
		count(list, func(c *session.Check) bool { return c.Borderline }), count(list, func(c *session.Check) bool { return !c.Complete }), n)
	grades := map[string]bool{}
	for _, c := range list {
		grades[fmt.Sprintf("%s|%s|%02d|%d|%s", c.StandardID, c.Edition, c.Rank, c.Of, c.Grade)] = true
	}
	for key := range grades {
		same := func(c *session.Check) bool {
			return fmt.Sprintf("%s|%s|%02d|%d|%s", c.StandardID, c.Edition, c.Rank, c.Of, c.Grade) == key
		}
		some := list[slices.IndexFunc(list, same)]
		say("grade %s: %d of %d, %s kg", key, count(list, same),
			count(list, func(c *session.Check) bool { return c.StandardID == some.StandardID && c.Edition == some.Edition }), weight(list, same))
	}
	tell := func(what string, of func(*session.Check) []string, standard bool) {
		seen := map[string]bool{}
		for _, c := range list {
			for _, key := range of(c) {
				id := c.StandardID
				if !standard {
					id = ""
				}
				if seen[id+key] {
					continue
				}
				seen[id+key] = true
				has := func(o *session.Check) bool { return (!standard || o.StandardID == id) && slices.Contains(of(o), key) }
				say("%s %s %s: %d, alone %d, %s kg", what, id, key, count(list, has),
					count(list, func(o *session.Check) bool { return has(o) && len(of(o)) == 1 }), weight(list, has))
			}
		}
	}
	tell("deciding", func(c *session.Check) []string { return texts(c.Deciding) }, true)
	tell("missing", func(c *session.Check) []string { return texts(c.Missing) }, true)
	tell("gate", func(c *session.Check) []string { return c.Gates }, true)
	tell("remedy", func(c *session.Check) []string { return []string{string(c.Remedy)} }, false)
	s.values(list, say)
	s.rechecks(f, say)
	slices.Sort(lines)
	return lines
}

func texts(ids []grading.ParameterID) (list []string) {
	for _, id := range ids {
		list = append(list, string(id))
	}
	return list
}

func monday(t time.Time) string {
	for t.Weekday() != time.Monday {
		t = t.AddDate(0, 0, -1)
	}
	return t.Format(time.DateOnly)
}

// lots are the checks that count for their lots.
func (s *slow) lots(f *ledger.Filter, list []*session.Check) []*session.Check {
	if f.Kind == ledger.FirstCheck {
		return list
	}
	return slices.DeleteFunc(slices.Clone(list), s.followed)
}

func (s *slow) groups(f *ledger.Filter, list []*session.Check, say func(string, ...any)) {
	for what, key := range map[string]func(*session.Check) string{
		"week":     func(c *session.Check) string { return monday(c.At.In(s.zone)) },
		"district": func(c *session.Check) string { return c.Lot.District },
		"village":  func(c *session.Check) string { return c.Lot.District + "/" + c.Lot.Village },
		"agent":    func(c *session.Check) string { return string(c.Agent) },
		"variety":  func(c *session.Check) string { return c.Lot.Variety },
		"channel":  func(c *session.Check) string { return c.Channel },
	} {
		groups := map[string][]*session.Check{}
		for _, c := range list {
			groups[key(c)] = append(groups[key(c)], c)
		}
		for k, all := range groups {
			part := s.lots(f, all)
			say("%s %s: %d checks %d lots %s kg, %d in grade, %d best, %d borderline, %d incomplete", what, k, len(all), len(part),
				weight(part, func(*session.Check) bool { return true }), count(part, inGrade),
				count(part, func(c *session.Check) bool { return c.Rank == 1 }),
				count(part, func(c *session.Check) bool { return c.Borderline }), count(part, func(c *session.Check) bool { return !c.Complete }))
		}
	}
}

// values are the distributions.
func (s *slow) values(list []*session.Check, say func(string, ...any)) {
	type key struct{ standard, edition, parameter string }
	by := map[key][]grading.Decimal{}
	for _, c := range list {
		for id, v := range c.Values {
			k := key{c.StandardID, c.Edition, string(id)}
			by[k] = append(by[k], v)
		}
	}
	for k, v := range by {
		slices.Sort(v)
		total := grading.Decimal(0)
		for _, x := range v {
			total += x
		}
		sum := total.Float()
		at := func(percent int) grading.Decimal { return v[int(math.Ceil(float64(percent)*float64(len(v))/100))-1] }
		say("%s %s %s: %d mean %.6f from %s to %s, %s %s %s %s %s", k.standard, k.edition, k.parameter, len(v), sum/float64(len(v)),
			v[0], v[len(v)-1], at(5), at(25), at(50), at(75), at(95))
	}
}

// rechecks are the pairs.
func (s *slow) rechecks(f *ledger.Filter, say func(string, ...any)) {
	pairs, better, same, worse, steps, weighed := 0, 0, 0, 0, 0, 0
	kg := grading.Decimal(0)
	moved := map[string]int{}
	type change struct {
		n, fell, rose int
		before, after grading.Decimal
	}
	changes := map[string]*change{}
	for i := range s.checks {
		c := &s.checks[i]
		b := s.before(c)
		if b == nil || c.Pooled() || !s.rest(f, c) || !s.state(f, c) {
			continue
		}
		pairs++
		if b.Lot.KG > 0 && c.Lot.KG > 0 {
			weighed, kg = weighed+1, kg+b.Lot.KG-c.Lot.KG
		}
		if b.StandardID != c.StandardID || b.Edition != c.Edition {
			continue
		}
		steps += b.Rank - c.Rank
		switch cmp.Compare(b.Rank, c.Rank) {
		case 1:
			better++
		case 0:
			same++
		default:
			worse++
		}
		moved[fmt.Sprintf("%s %s to %s", c.StandardID, b.Grade, c.Grade)]++
		for id, v := range c.Values {
			w, ok := b.Values[id]
			if !ok {
				continue
			}
			k := c.StandardID + " " + string(id)
			if changes[k] == nil {
				changes[k] = &change{}
			}
			d := changes[k]
			d.n, d.before, d.after = d.n+1, d.before+w, d.after+v
			if v < w {
				d.fell++
			} else if v > w {
				d.rose++
			}
		}
	}
	say("re-checks %d: %d better %d same %d worse, %d steps, %d weighed %s kg lighter", pairs, better, same, worse, steps, weighed, kg)
	for k, n := range moved {
		say("moved %s: %d", k, n)
	}
	for k, d := range changes {
		say("changed %s: %d, %d fell %d rose, %.6f to %.6f", k, d.n, d.fell, d.rose, d.before.Float()/float64(d.n), d.after.Float()/float64(d.n))
	}
}
