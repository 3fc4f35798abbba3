package report

import (
	"fmt"
	"strconv"
	"strings"

	"threshline/advice"
	"threshline/grading"
)

// valueText is a parameter's value as shown, or its word.
func valueText(v *grading.ParameterResult) string {
	if v.Unit == grading.Word {
		return v.Word
	}
	return v.Shown.Fixed(v.Decimals)
}

// LimitText shows a limit with at least one decimal, "2.0", "0.175", or as the
// whole number that a count is.
func LimitText(d grading.Decimal, u grading.Unit) string {
	if u.Percentage() || u == "" {
		return d.AtLeast(1)
	}
	return d.String()
}

// cautionText is a caution in English, as the dialogue has it.
func (g *Grader) cautionText(id advice.CautionID) string {
	return g.Words.Text("en", "caution."+string(id))
}

func (g *Grader) gainText(gain float64, inMoney bool) string {
	if inMoney {
		return g.moneyText(gain)
	}
	return strconv.FormatFloat(gain, 'f', 2, 64) + " grade steps"
}

func (g *Grader) moneyText(amount float64) string {
	return strings.TrimSpace(strconv.FormatFloat(amount, 'f', 0, 64) + " " + g.Currency)
}

// becauseText says what a remedy answers. If the readings meet a limit and the lot
// perhaps does not, it gives the chance that the lot meets it.
func becauseText(b *advice.Because, res *grading.Result) string {
	switch {
	case b.Gate != "":
		return "gate " + b.Gate
	case b.Parameter == "":
		return ""
	case !b.HasLimit:
		return fmt.Sprintf("%s is %s", b.Parameter, b.Value)
	}
	side := "at"
	switch {
	case b.Value > b.Limit:
		side = "over"
	case b.Value < b.Limit:
		side = "under"
	}
	text := string(b.Parameter) + " is " + b.Value.String() + ", " + side + " the limit of " + LimitText(b.Limit, "")
	if v := res.Parameter(b.Parameter); v != nil && v.Limit != nil && *v.Limit == b.Limit && v.Rank <= res.Of && v.Meets < 0.999 {
		text += fmt.Sprintf(", which the lot meets with chance %s", chanceText(v.Meets))
	}
	return text
}

// becomesText says what a lot is expected to be after a remedy.
func becomesText(o *advice.Option, res *grading.Result) string {
	verb := "would become"
	if o.When == advice.NextSeason {
		verb = "a like lot would be"
	} else if o.Becomes == res.Grade {
		verb = "stays"
	}
	switch {
	case o.BecomesRank > res.Of:
		return fmt.Sprintf("%s %s", verb, o.Becomes)
	case o.BecomesRank == 1:
		return fmt.Sprintf("%s %s with chance %s", verb, o.Becomes, chanceText(o.BecomesChance))
	}
	return fmt.Sprintf("%s %s or better with chance %s", verb, o.Becomes, chanceText(o.BecomesChance))
}

// outOfForce is what is said of a standard that is not in force on the day of grading;
// "" for one that is.
func (g *Grader) outOfForce() string {
	if g.Day == "" || g.Standard.InForce(g.Day) {
		return ""
	}
	return OutOfForce(g.Standard)
}

// OutOfForce says when a standard is in force that is not in force now.
func OutOfForce(s *grading.Standard) string {
	text := "the table is not in force"
	if s.ValidFrom != "" {
		text += ", from " + s.ValidFrom
	}
	if s.ValidTo != "" {
		text += ", to " + s.ValidTo
	}
	return text + ": do not trade on its grades"
}

// appendLine writes the answer for one lot as lines for a person.
func (g *Grader) appendLine(l *lot) {
	res := &l.Result
	var w strings.Builder
	fmt.Fprintf(&w, "%s, %s", res.Grade, rankText(res))
	switch {
	case res.Complete:
		fmt.Fprintf(&w, ", chance %.0f %%", 100*res.Confidence)
		if res.Likelier != "" {
			fmt.Fprintf(&w, " (%s is likelier: %.0f %%)", res.Likelier, 100*res.LikelierChance)
		}
	case res.OutOfGrade():
		fmt.Fprintf(&w, ": not measured: %s", Join(res.Missing))
	default:
		fmt.Fprintf(&w, ": no better than this, not measured: %s", Join(res.Missing))
	}
	if res.Borderline {
		w.WriteString(", borderline")
	}
	w.WriteByte('\n')
	if warning := g.outOfForce(); warning != "" {
		fmt.Fprintf(&w, "  WARNING: %s\n", warning)
	}
	for _, id := range res.Deciding {
		fmt.Fprintf(&w, "  held down by %s\n", parameterText(res.Parameter(id)))
	}
	if len(res.Gates) > 0 {
		fmt.Fprintf(&w, "  stopped by %s\n", Join(res.Gates))
	}
	if l.Readings.Unlooked() {
		fmt.Fprintf(&w, "  signs %s\n", notLooked)
	}
	if o := &l.advice.Best; g.Advise && o.Remedy != "" {
		fmt.Fprintf(&w, "  best remedy %s: %s, gain %s\n", o.Remedy, becomesText(o, res), g.gainText(o.Gain, o.InMoney))
		if a := &l.advice; a.Steps > 1 {
			fmt.Fprintf(&w, "    all steps, %s: %s, gain %s\n", Join(a.Set), a.SetBecomes, g.gainText(a.SetGain, o.InMoney))
		}
		if because := becauseText(&o.Because, res); because != "" {
			fmt.Fprintf(&w, "    because %s\n", because)
		}
		for _, id := range o.Cautions {
			fmt.Fprintf(&w, "    caution: %s\n", g.cautionText(id))
		}
	}
	if seed := seedText(l); seed != "" {
		fmt.Fprintf(&w, "  %s\n", seed)
	}
	for _, line := range g.labLines(l) {
		fmt.Fprintf(&w, "  %s\n", line)
	}
	for i := range l.doubts {
		fmt.Fprintf(&w, "  doubtful: %s\n", doubtText(g.Words, &l.doubts[i]))
	}
	g.buf = append(g.buf, w.String()...)
}

func rankText(res *grading.Result) string {
	if res.OutOfGrade() {
		return fmt.Sprintf("outside its %d grades", res.Of)
	}
	return fmt.Sprintf("grade %d of %d", res.Rank, res.Of)
}

func parameterText(v *grading.ParameterResult) string {
	if v == nil {
		return ""
	}
	text := fmt.Sprintf("%s %s", v.ID, valueText(v))
	if v.Unit != grading.Word {
		text += " " + string(v.Unit)
	}
	side := "at most"
	switch {
	case v.LimitIsMin && v.LimitOpen:
		side = "over"
	case v.LimitIsMin:
		side = "at least"
	case v.LimitOpen:
		side = "under"
	}
	if v.Next != nil {
		text += fmt.Sprintf(", the next grade wants %s %s", side, LimitText(*v.Next, v.Unit))
	}
	return text
}

// Join lists names, with commas.
func Join[T ~string](list []T) string {
	texts := make([]string, len(list))
	for i, s := range list {
		texts[i] = string(s)
	}
	return strings.Join(texts, ", ")
}
