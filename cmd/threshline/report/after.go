package report

import (
	"fmt"
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
)

// adjustments prints what the standard's own price rules make of the lot, apart
// from its grade.
func (p *page) adjustments(s *grading.Standard, res *grading.Result) {
	if len(s.Prices) == 0 {
		return
	}
	p.heading("Adjustments, apart from the grade")
	totals := map[string]grading.Ratio{}
	var order []string
	for _, a := range grading.Adjustments(s, res) {
		side := "over"
		if a.Rule.Below {
			side = "under"
		}
		capped := ""
		if a.Capped {
			capped = ", as far as the rule goes"
		}
		p.line("%s: %s %% of the %s, for %s steps of %s %s %s%s", a.Rule.Parameter, a.Percent.Signed(), a.Rule.Of,
			a.Steps.Round(4), a.Rule.Step, side, a.From, capped)
		if _, have := totals[a.Rule.Of]; !have {
			order = append(order, a.Rule.Of)
		}
		totals[a.Rule.Of] = totals[a.Rule.Of].Add(a.Percent)
	}
	for _, of := range order {
		p.line("together %s %% of the %s", totals[of].Signed(), of)
	}
	if len(order) == 0 {
		p.line("none")
	}
}

// drying prints how to dry the lot and what that does to its money, where
// drying is part of the advice.
func (p *page) drying(g *Grader, l *lot) {
	var option *advice.Option
	for i := range l.advice.Considered {
		o := &l.advice.Considered[i]
		if slices.Contains(l.advice.Set, o.Remedy) && advice.RemedyOf(o.Remedy).Dries {
			option = o
		}
	}
	from, ok := advice.MoistureOf(g.Standard, &l.Readings)
	if option == nil || !ok {
		return
	}
	plan, err := advice.PlanDrying(l.KG, from, option.Target, l.Use)
	if err != nil {
		return
	}
	p.heading("Drying")
	p.line("from %s %% to %s %%, %d to %d sunny days as a rule, no promise", plan.From.Round(2), plan.Target, plan.DaysMin, plan.DaysMax)
	if plan.KG > 0 {
		p.line("%s kg become %s kg: %s x (100 - %s) / (100 - %s) [IRRI-MC]", plan.KG, plan.KGAfter.Round(1), plan.KG, plan.From.Round(2), plan.Target)
	}
	p.wrap("spread %d to %d cm, turn every %d minutes, cover when the grain is above %d degrees [IRRI-SUN]; count cracks "+
		"after %d hours [IJBSE-CRACK]", plan.LayerMin, plan.LayerMax, plan.TurnMinutes, plan.CoverAbove, plan.CountCracksAfter)
	p.wrap("by machine: air at most %d degrees [BRADBROOK-BED, RKMP-DRYING], at most %d points a pass [RICE-PASS], then "+
		"%d hours of rest [ASABE-TEMPER]: %d passes", plan.AirMax, plan.LargestDrop, plan.RestHours, plan.Rests+1)
	p.moneyOfDrying(g, l, &plan)
}

// moneyOfDrying compares selling wet with selling dry at the price of the best
// grade, where the programme has prices.
func (p *page) moneyOfDrying(g *Grader, l *lot, plan *advice.DryingPlan) {
	price, ok := l.Settings.Prices[g.Standard.Grades[0].Label]
	limit, has := advice.MoistureLimit(g.Standard, l.Result.Class)
	if !ok || !has || plan.KG <= 0 {
		return
	}
	w, err := advice.WorthOf(plan.KG, plan.From, plan.Target, limit, price, l.Settings.Deductions)
	if err != nil {
		return
	}
	wet, known := l.Settings.Prices[l.Result.Grade]
	if l.Result.OutOfGrade() {
		wet, known = l.Settings.OutPrice, l.Settings.OutPrice > 0
	}
	paid, taken := advice.Deduct(wet, plan.From, l.Settings.Deductions)
	if known && taken && l.Result.Grade != g.Standard.Grades[0].Label {
		p.line("as %s it fetches %s wet; were moisture all that holds it down, %s dried, as %s", l.Result.Grade,
			grading.NewRatio(int64(plan.KG), int64(grading.One)).Mul(paid.Ratio()).Round(0), w.Dried.Round(0), g.Standard.Grades[0].Label)
	} else if w.Taken {
		p.line("at the price of %s it fetches %s wet, after the buyer's deductions, and %s dried", g.Standard.Grades[0].Label, w.AsIs.Round(0), w.Dried.Round(0))
	} else {
		p.line("the buyer does not take it so wet; dried it fetches %s at the price of %s", w.Dried.Round(0), g.Standard.Grades[0].Label)
	}
	p.line("a price for dry matter alone would give %s wet: price x (100 - %s) / (100 - %s)", w.Fair.Round(0), plan.From.Round(2), limit)
}

// keeping prints whether open bags can stay at the lot's moisture in the place's
// dampest month, where the programme has a climate table.
func (p *page) keeping(g *Grader, l *lot) {
	moisture, ok := advice.MoistureOf(g.Standard, &l.Readings)
	k := advice.KeepingThrough(l.Settings.Climate, moisture, time.January, 360)
	if !ok || !k.Known {
		return
	}
	p.heading("Keeping")
	p.wrap("in the dampest month, %s, with %.0f degrees and %.0f %% humidity, paddy in open bags settles at %.1f to %.1f %% "+
		"(modified Henderson and Chung-Pfost [ASAE-D245]; a mean of grain that takes up water and grain that gives it off)",
		k.Month, k.Air.Celsius, 100*k.Air.Humidity, k.Settles.Low, k.Settles.High)
	stays := "can stay at"
	if !k.CanStay {
		stays = "cannot stay at"
	}
	p.line("so open bags there %s %s %%", stays, moisture.Round(1))
	if !k.MouldSafe {
		p.line("the air between the grains comes to %.0f %% humidity: over 65 %% does not hold mould back [IRRI-ERH]", 100*k.HumidityBetween)
	}
}

// defectOrder says how a grain with several faults is put down.
func defectOrder(s *grading.Standard, class string) string {
	order := s.DefectOrder(class)
	if len(order) < 2 {
		return ""
	}
	return fmt.Sprintf("a grain with several faults is counted once, as the first of: %s [ISO-7301-MODEL Annex A]", Join(texts(order)))
}

func texts[T fmt.Stringer](list []T) []string {
	out := make([]string, len(list))
	for i, one := range list {
		out[i] = one.String()
	}
	return out
}
