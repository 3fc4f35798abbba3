package hands

import (
	"cmp"
	"iter"
	"slices"

	"threshline/session"
)

// Check is a check by hand, as it is counted.
type Check struct {
	District string
	Week     string // its Monday, "2006-01-02"
	Grower   session.PersonID
	// First says that the lot was not checked by hand before.
	First bool
}

// Pair names a check with the kit of a lot, and the check by hand before it.
type Pair struct{ Hand, Kit session.Slip }

// Reach is how far checks by hand reached. They are in no other figure.
type Reach struct {
	Reached
	// Districts are by number of checks, then by name; Weeks are the oldest first,
	// those with a check.
	Districts, Weeks []Reached
}

// Reached is the checks by hand of a district, of a week, or all together.
type Reached struct {
	Key    string
	Checks int
	// Lots are those that were checked by hand for the first time here, Growers those
	// whose lots the checks are of; of some lots nobody knows the grower.
	Lots, Growers int
}

// Of counts checks by hand.
func Of(checks iter.Seq[Check]) Reach {
	var all counted
	districts, weeks := map[string]*counted{}, map[string]*counted{}
	for c := range checks {
		all.add(&c)
		group(districts, c.District).add(&c)
		group(weeks, c.Week).add(&c)
	}
	out := Reach{Reached: all.reached(""), Districts: listed(districts), Weeks: listed(weeks)}
	slices.SortFunc(out.Districts, func(a, b Reached) int { return cmp.Or(cmp.Compare(b.Checks, a.Checks), cmp.Compare(a.Key, b.Key)) })
	slices.SortFunc(out.Weeks, func(a, b Reached) int { return cmp.Compare(a.Key, b.Key) })
	return out
}

// counted is a Reached that is being counted.
type counted struct {
	checks, lots int
	growers      map[session.PersonID]struct{}
}

func group(groups map[string]*counted, key string) *counted {
	if groups[key] == nil {
		groups[key] = &counted{}
	}
	return groups[key]
}

func (n *counted) add(c *Check) {
	n.checks++
	if c.First {
		n.lots++
	}
	if c.Grower != "" {
		if n.growers == nil {
			n.growers = map[session.PersonID]struct{}{}
		}
		n.growers[c.Grower] = struct{}{}
	}
}

func (n *counted) reached(key string) Reached { return Reached{key, n.checks, n.lots, len(n.growers)} }

func listed(groups map[string]*counted) (list []Reached) {
	for key, n := range groups {
		list = append(list, n.reached(key))
	}
	return list
}
