package screen

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"threshline/grading/sampling"
	"threshline/session"
	"threshline/session/talk"
)

// bagsToSpear are the bags that the programme's plan picks. The start is drawn
// from the moment the check began, so that it stays the same however often it
// is asked for and nobody chooses the bags.
func bagsToSpear(t *talk.Talk, draft *session.Draft) []int {
	bags := draft.Lot.Bags
	return sampling.Pick(bags, t.Programme.Sampling().Plan.Count(bags), uint64(draft.Started.UnixNano()))
}

// list names bags; at most as many as can be taken in, then three and dots.
func list(picked []int, most int) string {
	var out []string
	for i, bag := range picked {
		if len(picked) > most && i == 3 {
			out = append(out, "...", strconv.Itoa(picked[len(picked)-1]))
			break
		}
		out = append(out, strconv.Itoa(bag))
	}
	return strings.Join(out, ", ")
}

// mostLeftOut is how many bags are named that are not speared, where that is
// shorter than naming the others.
const mostLeftOut = 3

// leftOut are the bags that are not picked.
func leftOut(picked []int, bags int) (rest []int) {
	for bag := 1; bag <= bags; bag++ {
		if !slices.Contains(picked, bag) {
			rest = append(rest, bag)
		}
	}
	return rest
}

// spearText says which bags to spear, and how.
func spearText(t *talk.Talk) string {
	draft := t.Draft()
	if draft == nil {
		return ""
	}
	picked := bagsToSpear(t, draft)
	switch {
	case draft.Lot.Bags == 0:
		return t.Say("spear.heap", "count", sampling.InHeap(draft.Lot.KG).Spears())
	case draft.Lot.Bags == 1:
		return t.Say("spear.one")
	case len(picked) >= draft.Lot.Bags:
		return t.Say("spear.all", "bags", draft.Lot.Bags)
	case draft.Lot.Bags-len(picked) <= mostLeftOut:
		return t.Say("spear.but", "count", len(picked), "list", list(leftOut(picked, draft.Lot.Bags), mostLeftOut))
	}
	return t.Say("spear.some", "count", len(picked), "list", list(picked, 30))
}

// planText says by which rule the bags were picked, what it was chosen for and why.
func planText(t *talk.Talk) string {
	c := t.Programme.Sampling()
	purpose := cmp.Or(string(c.Purpose), "own")
	return t.Say("plan.why", "purpose", t.Say("plan.for_"+purpose), "rule", t.Say("plan."+string(c.Plan.ID)))
}

// spearShort says it in a line.
func spearShort(t *talk.Talk) string {
	draft := t.Draft()
	if draft == nil || draft.Lot.Bags == 0 {
		return t.Say("spear.heap_short")
	}
	picked := bagsToSpear(t, draft)
	if draft.Lot.Bags == 1 {
		return t.Say("spear.one_short")
	}
	if len(picked) >= draft.Lot.Bags {
		return t.Say("spear.all_short", "bags", draft.Lot.Bags)
	}
	if draft.Lot.Bags-len(picked) <= mostLeftOut {
		return t.Say("spear.but_short", "list", list(leftOut(picked, draft.Lot.Bags), mostLeftOut))
	}
	return t.Say("spear.some_short", "list", list(picked, 6))
}
