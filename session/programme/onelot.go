package programme

import (
	"errors"
	"slices"
	"time"

	"threshline/grading"
	"threshline/session"
)

// ErrNothingToClear says that no sign of the lot is left to clear, or that there never
// was one.
var ErrNothingToClear = errors.New("programme: nothing to clear")

// Unfit are the signs of a check, seen in it or held, that make it no food.
func Unfit(c *session.Check) []grading.Flag {
	return slices.DeleteFunc(slices.Clone(c.Readings.Flags), func(f grading.Flag) bool { return !f.Unfit() })
}

// sameLotDays is for how many days after a check of a lot that nobody may eat a new
// check of the same grower may be of that lot. Source: our own rule, [ASSUMED-ADVICE].
const sameLotDays = 60

// alikeShare is by what part of the larger the bags, or kg, of one lot may differ
// between two checks: drying and cleaning take some away. Source: our own rule,
// [ASSUMED-ADVICE].
const alikeShare = 6

// alike reports whether two lots are about the same size: the same bags, give or take
// one, and kg within a sixth; for a heap the kg alone.
func alike(a, b session.Lot) bool {
	near := func(x, y, spare int64) bool {
		return max(x-y, y-x) <= max(max(x, y)/alikeShare, spare)
	}
	if a.Bags > 0 && b.Bags > 0 && !near(int64(a.Bags), int64(b.Bags), 1) {
		return false
	}
	return a.KG == 0 || b.KG == 0 || near(int64(a.KG), int64(b.KG), int64(a.BagKG))
}

// SameLot returns the newest of a grower's checks that may be of the lot at hand and
// has a sign that makes it no food, if that sign was not said of the lot at hand; false
// if there is none. The checks come newest first. other lists checks that the person
// said are of another lot.
func SameLot(lot session.Lot, said []grading.Flag, at time.Time, checks []session.Check, other []session.Slip) (session.Check, bool) {
	for i := range checks {
		c := &checks[i]
		stands := slices.ContainsFunc(Unfit(c), func(f grading.Flag) bool { return !slices.Contains(said, f) })
		if !stands || c.State == session.Corrected || !alike(lot, c.Lot) || at.After(c.At.AddDate(0, 0, sameLotDays)) || slices.Contains(other, c.Slip) {
			continue
		}
		superseded := slices.ContainsFunc(checks[:i], func(later session.Check) bool {
			return later.Recheck == c.Slip && later.State == session.Filed
		})
		if !superseded {
			return *c, true
		}
	}
	return session.Check{}, false
}

// OneLot lists the grower's checks that are of the same lot as c, and c: its re-checks
// and corrections, and theirs.
func OneLot(c session.Check, checks []session.Check) []session.Check {
	lot := []session.Check{c}
	of := map[session.Slip]bool{c.Slip: true}
	for grew := true; grew; {
		grew = false
		for i := range checks {
			k := &checks[i]
			joined := of[k.Recheck] && k.Recheck != "" || of[k.ReplacedBy] && k.ReplacedBy != "" ||
				slices.ContainsFunc(lot, func(l session.Check) bool {
					return l.Recheck == k.Slip || l.ReplacedBy == k.Slip || l.RecheckedBy == k.Slip
				})
			if joined && !of[k.Slip] {
				lot, of[k.Slip], grew = append(lot, *k), true, true
			}
		}
	}
	return lot
}
