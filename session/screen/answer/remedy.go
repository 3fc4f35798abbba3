package answer

import (
	"math"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/talk"
)

// RemedyLines say the one remedy and what the lot would become, the fullest
// way first: of several steps all are said where there is room, so that the
// one for what holds the grade down is among them.
func RemedyLines(t *talk.Talk, a *advice.Advice) []string {
	best := a.Best
	if best.Remedy == "" {
		return []string{""}
	}
	do, because := remedyText(t, best), becauseText(t, best)
	switch {
	case best.When == advice.NextSeason:
		season := t.Say("grade.season", "do", do)
		if a.Meanwhile == "" {
			return []string{season}
		}
		now := t.Say("grade.now", "do", t.Say("remedy."+string(a.Meanwhile)+".do"))
		return []string{now + "\n" + season, season}
	case a.Steps > 1:
		return stepLines(t, a, do, because)
	case betters(t, best.BecomesRank):
		becomes := t.Say("grade.becomes", "do", do, "because", because, "grade", thenGrade(t, a))
		return []string{becomes + earnsLine(t, a), becomes}
	}
	plain := t.Say("grade.do", "do", do, "because", because)
	surer := surerLine(t, a)
	if !mendable(t, a) {
		return []string{t.Say("grade.no_mend") + " " + plain + surer, t.Say("grade.no_mend") + " " + plain, plain + surer, plain}
	}
	return []string{plain + surer, plain}
}

// mendable reports whether the remedy mends what holds the grade down, or
// everything that does could be mended in this lot. A sign that stops the lot
// does not count as a grade.
func mendable(t *talk.Talk, a *advice.Advice) bool {
	c, ok := t.Check(t.Memo().Slip)
	if !ok || len(c.Gates) > 0 || a.Best.Remedy == advice.MeasureAgain || slices.Contains(c.Deciding, a.Best.Because.Parameter) && a.Best.Remedy != advice.SellAsIs {
		return true
	}
	return !slices.ContainsFunc(c.Deciding, func(id grading.ParameterID) bool { return !mends(a, id) })
}

// mends reports whether this lot has a remedy for a parameter that holds the
// grade down.
func mends(a *advice.Advice, id grading.ParameterID) bool {
	for _, o := range a.Considered {
		acts := o.Band == advice.SpoilBand || o.Band == advice.MendBand
		found := o.Reason != advice.NotFound && o.Reason != advice.NotMeasured && o.Reason != advice.NotOffered
		if acts && found && o.Because.Parameter == id {
			return true
		}
	}
	return false
}

// stepLines say a set of remedies: every step, or the first alone.
func stepLines(t *talk.Talk, a *advice.Advice, do, because string) []string {
	first := t.Say("grade.step", "number", 1, "steps", a.Steps, "do", do, "because", because)
	short := t.Say("grade.step", "number", 1, "steps", a.Steps, "do", do, "because", "")
	rest := ""
	for i, id := range a.Set[1:] {
		rest += " " + t.Say("grade.step_short", "number", i+2, "do", remedyText(t, considered(a, id)))
	}
	if !betters(t, t.Programme.Standard.Rank(a.SetBecomes)) {
		surer := surerLine(t, a)
		return []string{first + rest + surer, short + rest + surer, first + rest, short + rest, first, short}
	}
	grade, earns := thenGrade(t, a), earnsLine(t, a)
	then, after := " "+t.Say("grade.then", "grade", grade), " "+t.Say("grade.after", "steps", a.Steps, "grade", grade)
	return []string{first + rest + then + earns, short + rest + then + earns, first + rest + then, short + rest + then, short + rest, first + after, short + after, short}
}

// thenGrade is what the lot becomes after all steps: at best, where something was
// not measured.
func thenGrade(t *talk.Talk, a *advice.Advice) string {
	grade := t.GradeWord(a.SetBecomes)
	if a.Incomplete {
		return t.Say("grade.at_best", "grade", grade)
	}
	return grade
}

// earnsLine says what the work earns after the cost of work, fees and lost
// weight. It is empty when a fee is not known, or when there is no gain.
func earnsLine(t *talk.Talk, a *advice.Advice) string {
	gain := grading.NewDecimal(int(math.Floor(a.SetGain)))
	if !a.Best.InMoney || a.SetCostUnknown || gain <= 0 {
		return ""
	}
	return " " + t.Say("grade.earns", "money", MoneyText(t, gain))
}

// surerLine says what mending gains when the grade stays the same: the buyer is
// less likely to lower it.
func surerLine(t *talk.Talk, a *advice.Advice) string {
	c, ok := t.Check(t.Memo().Slip)
	if !ok || !c.Borderline || !c.Complete || a.Best.Band != advice.MendBand || c.Rank > c.Of || a.SetBecomes != c.Grade {
		return ""
	}
	return " " + t.Say("grade.surer", "grade", t.GradeWord(c.Grade))
}

// considered returns a remedy with the result of weighing it for the lot.
func considered(a *advice.Advice, id advice.RemedyID) advice.Option {
	for _, o := range a.Considered {
		if o.Remedy == id {
			return o
		}
	}
	return advice.Option{Remedy: id}
}

// becauseText names what the remedy mends when that is not what holds the grade
// down.
func becauseText(t *talk.Talk, o advice.Option) string {
	c, ok := t.Check(t.Memo().Slip)
	id := o.Because.Parameter
	acts := o.Band >= advice.SpoilBand && o.Band <= advice.MeasureBand
	if !ok || !acts || id == "" || slices.Contains(c.Deciding, id) || o.Because.Gate != "" || len(c.Gates) > 0 {
		return ""
	}
	p := t.Programme.Standard.Parameter(id)
	if p == nil || o.When == advice.NextSeason {
		return ""
	}
	return t.Say("grade.because", "what", t.ParameterName(id), "value", withUnit(t, p.Unit, o.Because.Value.AtLeast(p.Decimals)))
}

// betters reports whether a rank is better than the check's own.
func betters(t *talk.Talk, rank int) bool {
	c, ok := t.Check(t.Memo().Slip)
	return ok && rank > 0 && rank < c.Rank
}

func remedyText(t *talk.Talk, o advice.Option) string {
	switch {
	case o.Remedy == advice.MeasureAgain && o.Reason == advice.Unmeasured:
		return t.Say("measure.water")
	case o.More != nil:
		return t.Say("measure.close", "what", moreText(t, o.More))
	}
	return t.Say("remedy."+string(o.Remedy)+".do", "target", t.Number(o.Target.Round(1)))
}

// moreText says what to measure beside what was.
func moreText(t *talk.Talk, more *grading.Settle) string {
	if more.CheckMeter {
		return t.Say("measure.meter")
	}
	grains, grams := t.Number(grading.NewDecimal(more.Grains)), t.Number(more.Grams.Round(0))
	switch {
	case more.Grains > 0 && more.Grams > 0:
		return t.Say("measure.both", "count", grains, "grams", grams)
	case more.Grains > 0:
		return t.Say("measure.grains", "count", grains)
	case more.Grams > 0:
		return t.Say("measure.grams", "count", grams)
	}
	return t.Say("measure.repeats", "count", more.Repeats)
}

// doText is how to do a remedy that was weighed for a lot, its cautions first.
func doText(t *talk.Talk, o advice.Option) string {
	if o.More == nil {
		return HowTo(t, o.Remedy, o.Cautions, o.Target)
	}
	how := t.Say("measure.how", "what", moreText(t, o.More))
	if o.More.CheckMeter {
		how = t.Say("measure.how_meter")
	}
	return strings.Join(append(Warnings(t, o.Cautions), how), " ")
}

// safety are the cautions that stand on the grade screen itself, when what to
// do is urgent; all others stand first in how to do it.
var safety = []advice.CautionID{advice.NotEaten, advice.Tainted, advice.NotFood, advice.NoFumigant}

// SafetyLine is the caution that goes with a remedy.
func SafetyLine(t *talk.Talk, a *advice.Advice) string {
	var out []string
	if a.Best.Band > advice.SpoilBand {
		return ""
	}
	for _, id := range a.Best.Cautions {
		if slices.Contains(safety, id) {
			out = append(out, t.Say("caution."+string(id)))
		}
	}
	return strings.Join(out, " ")
}

// HowTo says how to do a remedy, its cautions first: the same words for a
// checked lot and for one that is only asked about. For a good lot, the first
// words are about keeping it, not about poison.
func HowTo(t *talk.Talk, id advice.RemedyID, cautions []advice.CautionID, target grading.Decimal) string {
	how := t.Say("remedy."+string(id)+".how", "target", t.Number(target.Round(1)))
	if id == advice.KeepWell {
		return strings.Join(append([]string{how}, Warnings(t, cautions)...), " ")
	}
	return strings.Join(append(Warnings(t, cautions), how), " ")
}

// Warnings are the texts of cautions.
func Warnings(t *talk.Talk, cautions []advice.CautionID) (lines []string) {
	for _, c := range cautions {
		lines = append(lines, t.Say("caution."+string(c)))
	}
	return lines
}

// RemedyHow is howTo with the remedy's own cautions.
func RemedyHow(t *talk.Talk, id advice.RemedyID, target grading.Decimal) string {
	return HowTo(t, id, advice.RemedyOf(id).Cautions, target)
}

// MoneyText is an amount in whole units of the programme's currency.
func MoneyText(t *talk.Talk, amount grading.Decimal) string {
	return Priced(t, amount.Round(0))
}

// Priced is an amount with the programme's currency.
func Priced(t *talk.Talk, amount grading.Decimal) string {
	return strings.TrimSpace(t.Number(amount) + " " + t.Programme.Currency)
}

// BestPrice is the best grade that the programme has a price per kg for.
func BestPrice(t *talk.Talk) (grading.GradeLabel, grading.Decimal, bool) {
	for _, g := range t.Programme.Standard.Grades {
		if price := t.Programme.Advice.Prices[g.Label]; price > 0 {
			return g.Label, price, true
		}
	}
	return "", 0, false
}
