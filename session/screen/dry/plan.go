package dry

import (
	"cmp"
	"strings"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// heap is a lot to be dried and kept, with what it is to be dried to.
type heap struct {
	from, kg, target grading.Decimal
	use              advice.Use
	days             int
}

// heapOf is the lot of the drying screens; false when it is not known whole.
func heapOf(t *talk.Talk) (heap, bool) {
	from, kg := dryLot(t)
	n := t.Memo().DryKeep
	if from == 0 || kg == 0 || n < 1 || n > len(keepings) {
		return heap{}, false
	}
	k := keepings[n-1]
	h := heap{from: from, kg: kg, use: k.use, days: k.days, target: advice.KeepTarget(k.use, k.days)}
	if limit, ok := buyersLimit(t); ok && n == 1 { // sold at once: drier where the buyer asks for it
		if h.target = min(h.target, limit); from > h.target { // as far as the remedy of a check
			h.target = min(h.target, limit-advice.DryingGuard)
		}
	}
	return h, true
}

// showDryPlan says what is to be done with the lot. The figures come first, so
// that the first page is an answer by itself.
func showDryPlan(t *talk.Talk) talk.Shown {
	h, ok := heapOf(t)
	switch {
	case !ok:
		return showDry(t)
	case h.from > h.target:
		return ask.Says(wetText(t, h))
	case h.use == advice.Food && h.from < min(advice.OverDryBelow, h.target):
		return ask.Says(ask.Joined(overLines(t, h), openLine(t, h, h.from), overHow(t, h)))
	}
	fine := t.Say("dry.fine", "from", t.Number(h.from), "target", t.Number(h.target))
	return ask.Says(ask.Joined(fine, openLine(t, h, h.from), keepHow(t, h)))
}

// wetText says what drying does to the lot, how to do it with the cautions, and
// whether open bags will keep it so. What it is worth stands with the figures
// where there is room, and must not come between them and the work otherwise.
func wetText(t *talk.Talk, h heap) string {
	figures, money, open := wetLines(t, h), moneyLine(t, h), openLine(t, h, h.target)
	if with := ask.Joined(figures, money); t.Fits(with + "\n" + t.Say("foot.more")) {
		return ask.Joined(with, dryHow(t, h), open)
	}
	return ask.Joined(figures, dryHow(t, h), money, open)
}

// wetLines are the figures of a lot that is to be dried. How long it takes is a
// range of days: nobody has published a rate for the sun.
func wetLines(t *talk.Talk, h heap) string {
	plan, err := advice.PlanDrying(h.kg, h.from, h.target, h.use)
	if err != nil {
		return t.Say("wrong.dry", "like", ask.Example(t, "18.5", "600"))
	}
	water := h.kg - plan.KGAfter
	places := h.places(water)
	said := t.Say("dry.plan", "from", t.Number(h.from), "target", t.Number(h.target), "kg", t.Number(h.kg),
		"after", t.Number(plan.KGAfter.Round(places)), "water", t.Number(water.Round(places)))
	if h.from > advice.MicrobesAbove {
		said += " " + t.Say("dry.wet")
	}
	return said + " " + t.Say("dry.days", "least", plan.DaysMin, "most", plan.DaysMax)
}

// places is the number of decimals for weights of the lot, in kg: none, or one
// for a lot of up to 100 kg, and as many more as it takes to show a difference
// that is not 0.
func (h heap) places(difference grading.Decimal) int {
	places := 0
	if h.kg <= NotWeighedKG {
		places = 1
	}
	for difference.Round(places) == 0 && places < 2 {
		places++
	}
	return places
}

// dryHow is how to dry, in the words of the remedy for a checked lot, with the
// cautions of the plan.
func dryHow(t *talk.Talk, h heap) string {
	plan, err := advice.PlanDrying(h.kg, h.from, h.target, h.use)
	if err != nil {
		return ""
	}
	return answer.HowTo(t, advice.DrySun, plan.Cautions, h.target)
}

// overLines say that the lot is drier than it need be, and what that costs.
func overLines(t *talk.Talk, h heap) string {
	said := t.Say("dry.over", "from", t.Number(h.from), "target", t.Number(h.target))
	full, err := advice.WetNeeded(h.kg, h.target, h.from)
	if err != nil {
		return said
	}
	more := t.Number((full - h.kg).Round(h.places(full - h.kg)))
	if _, price, ok := answer.BestPrice(t); ok {
		if lost, err := advice.GivenAway(h.kg, h.from, h.target, price); err == nil {
			return said + " " + t.Say("dry.lost_money", "target", t.Number(h.target), "more", more, "money", answer.MoneyText(t, lost))
		}
	}
	return said + " " + t.Say("dry.lost", "target", t.Number(h.target), "more", more)
}

// overHow says what to do with grain that is too dry: sell it soon, or keep it,
// but never wet it.
func overHow(t *talk.Talk, h heap) string {
	if h.days < advice.ShortKeep {
		return answer.RemedyHow(t, advice.StopDrying, h.target)
	}
	return strings.Join(append(answer.Warnings(t, advice.RemedyOf(advice.StopDrying).Cautions), keepHow(t, h)), " ")
}

// keepHow is how to keep a dry lot: sealed where open bags get damp.
func keepHow(t *talk.Talk, h heap) string {
	if _, damp := getsDamp(t, h, h.from); damp {
		return answer.RemedyHow(t, advice.Hermetic, h.target)
	}
	return answer.RemedyHow(t, advice.KeepWell, h.target)
}

// getsDamp is what open bags do in the dampest month in which the lot is kept;
// false where they can stay as dry as they are, where the programme has no
// climate table, and for a lot that is gone before it matters.
func getsDamp(t *talk.Talk, h heap, moisture grading.Decimal) (advice.Keeping, bool) {
	if h.days < advice.ShortKeep {
		return advice.Keeping{}, false
	}
	now := t.In.At.In(cmp.Or(t.Programme.Zone, time.UTC))
	k := advice.KeepingThrough(t.Programme.Advice.Climate, moisture, now.Month(), h.days)
	return k, k.Known && !k.CanStay
}

// openLine warns that open bags take up water, and of mould where it is not
// held back. A person who still has to dry is not told to seal.
func openLine(t *talk.Talk, h heap, moisture grading.Decimal) string {
	k, damp := getsDamp(t, h, moisture)
	if !damp {
		return ""
	}
	said := t.Say("dry.open", "moisture", t.Number(moisture), "humidity", t.Number(grading.Decimal(k.Air.Humidity*100*float64(ask.Whole)).Round(0)))
	if !k.MouldSafe || k.Air.Humidity > advice.MouldHeldAt { // now, or when it has come to rest in that air
		said += " " + t.Say("dry.mould")
	}
	if h.from > h.target {
		said += " " + t.Say("dry.when_dry")
	}
	return said
}
