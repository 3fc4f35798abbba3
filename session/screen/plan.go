package screen

import (
	"strings"

	"threshline/grading/sampling"
	"threshline/session"
	"threshline/session/talk"
)

// bagsToSpear are the bags that the programme's plan picks. The start is drawn
// from the moment the check began, so that it stays the same however often it
// is asked for and nobody chooses the bags.
func bagsToSpear(t *talk.Talk, draft *session.Draft) []int {
	plan, err := sampling.ByID(sampling.PlanID(t.Programme.SamplingPlan))
	if err != nil {
		plan, _ = sampling.ByID(sampling.Default)
	}
	bags := draft.Lot.Bags
	return sampling.Pick(bags, plan.Count(bags), uint64(draft.Started.UnixNano()))
}

// list names bags; at most as many as can be taken in, then three and dots.
func list(picked []int, most int) string {
	var out []string
	for i, bag := range picked {
		if len(picked) > most && i == 3 {
			out = append(out, "...", itoa(picked[len(picked)-1]))
			break
		}
		out = append(out, itoa(bag))
	}
	return strings.Join(out, ", ")
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
	case len(picked) >= draft.Lot.Bags:
		return t.Say("spear.all", "bags", draft.Lot.Bags)
	}
	return t.Say("spear.some", "count", len(picked), "list", list(picked, 30))
}

// spearShort says it in a line.
func spearShort(t *talk.Talk) string {
	draft := t.Draft()
	if draft == nil || draft.Lot.Bags == 0 {
		return t.Say("spear.heap_short")
	}
	picked := bagsToSpear(t, draft)
	if len(picked) >= draft.Lot.Bags {
		return t.Say("spear.all_short", "bags", draft.Lot.Bags)
	}
	return t.Say("spear.some_short", "list", list(picked, 6))
}
