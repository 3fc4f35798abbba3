package sampling

import (
	"cmp"
	"fmt"
	"strings"
)

// Purpose is what a lot is sampled for.
type Purpose string

// The purposes.
const (
	Buying   Purpose = "buying"   // a price is paid by the grade
	Seed     Purpose = "seed"     // the lot is to be sown
	Official Purpose = "official" // an authority's sample, or one that has to stand up to its
)

// Purposes lists the purposes, the usual one first.
func Purposes() []Purpose { return []Purpose{Buying, Seed, Official} }

// fits is the plan for each purpose: for seed the rule that was made for it; for an
// authority the strictest that was read, which is an authority's own for grain in
// stacks; for buying see the note of Default. Which fits is our choice,
// [ASSUMED-SAMPLING].
var fits = map[Purpose]PlanID{Buying: Default, Seed: "five-and-tenth", Official: "stack"}

// For finds the plan for a purpose; "" is Buying. Errors wrap ErrPlan and name the
// purposes.
func For(p Purpose) (Plan, error) {
	p = cmp.Or(p, Buying)
	id, ok := fits[p]
	if !ok {
		var known []string
		for _, k := range Purposes() {
			known = append(known, string(k))
		}
		return Plan{}, fmt.Errorf("%w for %q (known: %s)", ErrPlan, p, strings.Join(known, ", "))
	}
	return ByID(id)
}

// Choice is a plan, and the purpose that it was chosen for; "" where a programme
// named the plan itself.
type Choice struct {
	Plan    Plan
	Purpose Purpose
}

// Choose is the plan that is named, or else the one for the purpose. Errors are
// those of ByID and For.
func Choose(named PlanID, p Purpose) (c Choice, err error) {
	if named != "" {
		c.Plan, err = ByID(named)
		return c, err
	}
	if c.Purpose = p; p == "" {
		c.Purpose = Buying
	}
	c.Plan, err = For(c.Purpose)
	return c, err
}
