// Package sampling says how many bags of a lot to spear and which, and where to
// spear a heap.
//
// It knows no lot's quality: what a sample can tell is in package grading.
package sampling

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"

	"threshline/grading"
)

// PlanID names a plan in a programme's configuration.
type PlanID string

// Default is the plan taken when a programme names none, and no purpose: that for
// buying.
const Default PlanID = "trade"

// Plan is a published rule for how many bags of a lot to sample.
type Plan struct {
	ID     PlanID
	Title  string
	Source string // with its tag
	Status grading.Status
	Note   string
	bands  []band // by size of lot, smallest first; the last has no end
}

// band is the rule for lots of up to a number of bags: a fixed number, a share
// of the bags rounded to the nearest (half up), and a root rounded up, added
// and cut to a most. The zero rule takes all.
type band struct {
	upTo        int // inclusive; 0 no end
	fixed, most int
	share       int // percent
	root        bool
	least       int
}

// plans are the rules, the default first.
var plans = []Plan{
	{
		ID: Default, Title: "All up to 10 bags; then 10, and from 55 on 5 and a tenth of the bags, at most 30", Status: grading.Secondary,
		Source: "the larger of the AOAC rule for feed in bags [AOAC-FEED] and the AOSA rule for seed [AOSA-SAMPLING]",
		Note: "No rule for buying paddy in bags could be read whole; so the larger of the two that were read is taken, " +
			"which is our choice [ASSUMED-SAMPLING]. Up to 100 bags it is no laxer than what is recalled of ISO 950.",
		bands: []band{{upTo: 10}, {fixed: 5, share: 10, least: 10, most: 30}},
	},
	{
		ID: "five-and-tenth", Title: "All up to 6 bags; else 5 and a tenth of the bags, at most 30", Status: grading.Secondary,
		Source: "AOSA rule for seed in bags [AOSA-SAMPLING], [WAC-16-301]",
		Note:   "Made for seed, which is one variety, cleaned: for 7 to 44 bags it is the laxest of all rules here.",
		bands:  []band{{upTo: 6}, {fixed: 5, share: 10, most: 30}},
	},
	{
		ID: "ten", Title: "All up to 10 bags; else 10", Status: grading.Secondary,
		Source: "AOAC rule for feed in bags [AOAC-FEED]",
		bands:  []band{{upTo: 10}, {fixed: 10}},
	},
	{
		ID: "stack", Title: "All up to 30 bags; then 30, 50, 100 by the size of the stack", Status: grading.Secondary,
		Source: "Indian rule for stacks of bags [INDIA-STACK]",
		Note: "Over 2,000 bags the source asks for 5 % for small grain or 120; which of them paddy is, it does not say, " +
			"so the greater is taken.",
		bands: []band{{upTo: 30}, {upTo: 300, fixed: 30}, {upTo: 1000, fixed: 50}, {upTo: 2000, fixed: 100}, {share: 5, least: 120}},
	},
	{
		ID: "root", Title: "All up to 10 bags; 10 up to 100; else the square root of the bags", Status: grading.FromMemory,
		Source: "ISO 950 and ISO 13690, recalled and not read [ISO-950-RECALLED]",
		Note:   "Check the standard before use; ISO 24333 replaces it.",
		bands:  []band{{upTo: 10}, {upTo: 100, fixed: 10}, {root: true}},
	},
}

// ErrPlan is wrapped by the error of ByID.
var ErrPlan = errors.New("sampling: unknown plan")

// Plans lists all plans, the default first.
func Plans() []Plan { return append([]Plan(nil), plans...) }

// ByID finds a plan; "" is Default. Errors wrap ErrPlan and name the plans.
func ByID(id PlanID) (Plan, error) {
	id = cmp.Or(id, Default)
	var known []string
	for _, p := range plans {
		if p.ID == id {
			return p, nil
		}
		known = append(known, string(p.ID))
	}
	return Plan{}, fmt.Errorf("%w %q (known: %s)", ErrPlan, id, strings.Join(known, ", "))
}

// Count is how many bags of a lot to spear: at least 1, at most all. A lot of
// no bags gives 0.
func (p Plan) Count(bags int) int {
	if bags < 1 {
		return 0
	}
	for _, b := range p.bands {
		if b.upTo == 0 || bags <= b.upTo {
			return min(max(b.count(bags), 1), bags)
		}
	}
	return bags
}

func (b band) count(bags int) int {
	n := b.fixed + (bags*b.share+50)/100
	if b.root {
		n += int(math.Ceil(math.Sqrt(float64(bags))))
	}
	if n == 0 && b.least == 0 {
		return bags
	}
	n = max(n, b.least)
	if b.most > 0 {
		n = min(n, b.most)
	}
	return n
}
