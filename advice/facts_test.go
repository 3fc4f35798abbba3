package advice_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/cockroachdb/datadriven"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/chance"
	"threshline/grading/standard/standardtest"
)

// number reads a decimal or fails the test.
func number(t testing.TB, s string) grading.Decimal {
	t.Helper()
	d, err := grading.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func float(t testing.TB, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// facts reads a case written one fact a line: a field's name and its number, or
// a word of the switch below and what it takes.
func facts(t *testing.T, d *datadriven.TestData) advice.Case {
	t.Helper()
	c := advice.Case{At: time.Date(2026, time.March, 9, 0, 0, 0, 0, time.UTC)}
	c.Readings.Looked = grading.WasLooked
	c.Readings.Meter = grading.Meter{Checked: true} // unless the case says otherwise
	for _, line := range strings.Split(strings.TrimSpace(d.Input), "\n") {
		key, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		words := strings.Fields(rest)
		switch f, isField := grading.ParseField(key); {
		case f == grading.Moisture:
			for _, w := range words {
				c.Readings.Repeats = append(c.Readings.Repeats, number(t, w))
			}
		case isField:
			c.Readings.Set(f, number(t, rest))
		default:
			fact(t, d, &c, key, rest, words)
		}
	}
	result, err := chance.Assess(c.Standard, c.Readings, chance.Certainty{})
	if err != nil {
		d.Fatalf(t, "%v", err)
	}
	c.Result = result
	return c
}

func fact(t *testing.T, d *datadriven.TestData, c *advice.Case, key, rest string, words []string) {
	t.Helper()
	switch key {
	case "unlooked":
		c.Readings.Looked = grading.NotLooked
	case "standard":
		s, err := standardtest.ByID(rest)
		if err != nil {
			d.Fatalf(t, "%v", err)
		}
		c.Standard = s
	case "kg":
		c.KG = number(t, rest)
	case "meter": // "unchecked"
		c.Readings.Meter = grading.Meter{}
	case "keep_days":
		days, err := strconv.Atoi(rest)
		if err != nil {
			d.Fatalf(t, "%v", err)
		}
		c.KeepDays = days
	case "use":
		c.Use = advice.Use(rest)
	case "flag":
		c.Readings.Flags = append(c.Readings.Flags, grading.Flag(rest))
	case "value":
		if c.Readings.Values == nil {
			c.Readings.Values = map[grading.ParameterID]grading.Decimal{}
		}
		c.Readings.Values[grading.ParameterID(words[0])] = number(t, words[1])
	case "past":
		past := advice.Past{}
		for _, w := range words {
			past.Deciding = append(past.Deciding, grading.ParameterID(w))
		}
		c.History = append(c.History, past)
	case "price":
		label, price, _ := strings.Cut(rest, ": ")
		if c.Settings.Prices == nil {
			c.Settings.Prices = map[grading.GradeLabel]grading.Decimal{}
		}
		c.Settings.Prices[grading.GradeLabel(label)] = number(t, price)
	case "out_price":
		c.Settings.OutPrice = number(t, rest)
	case "wage":
		c.Settings.DayWage = number(t, rest)
	case "tariff":
		if c.Settings.Tariffs == nil {
			c.Settings.Tariffs = map[advice.RemedyID]advice.Tariff{}
		}
		c.Settings.Tariffs[advice.RemedyID(words[0])] = advice.Tariff{Fixed: number(t, words[1]), PerKG: number(t, words[2])}
	case "deduct":
		c.Settings.Deductions = append(c.Settings.Deductions,
			advice.Deduction{Over: number(t, words[0]), UpTo: number(t, words[1]), Cut: number(t, words[2])})
	case "air": // every month the same
		for i := range c.Settings.Climate {
			c.Settings.Climate[i] = advice.Month{Celsius: float(t, words[0]), Humidity: float(t, words[1])}
		}
	default:
		d.Fatalf(t, "unknown fact %q", key)
	}
}

// told writes an advice the way the files under testdata show it.
func told(c *advice.Case, a *advice.Advice) string {
	var b strings.Builder
	r := &c.Result
	fmt.Fprintf(&b, "grade %s, rank %d of %d", r.Grade, r.Rank, r.Of)
	switch {
	case !r.Complete:
		b.WriteString(", no better than")
	case r.Borderline:
		fmt.Fprintf(&b, ", borderline, sure %.2f better %.2f", r.Confidence, r.Better)
	default:
		fmt.Fprintf(&b, ", sure %.2f", r.Confidence)
	}
	if len(r.Deciding) > 0 {
		fmt.Fprintf(&b, ", held down by %v", r.Deciding)
	}
	b.WriteString("\n")
	tellOption(&b, "best", &a.Best)
	if a.Steps > 1 {
		fmt.Fprintf(&b, "step 1 of %d: %v, after all of them %s (%.2f), gain %.2f\n", a.Steps, a.Set, a.SetBecomes, a.SetChance, a.SetGain)
	}
	if a.Meanwhile != "" {
		fmt.Fprintf(&b, "this lot meanwhile: %s\n", a.Meanwhile)
	}
	if a.Season != "" {
		fmt.Fprintf(&b, "next season: %s\n", a.Season)
	}
	byReason := map[advice.ReasonID][]string{}
	for i := range a.Considered {
		o := &a.Considered[i]
		if o.Remedy == a.Best.Remedy {
			continue
		}
		note := string(o.Remedy)
		if o.Gain != 0 {
			note += fmt.Sprintf(" (%s %.2f, gain %.2f)", o.Becomes, o.BecomesChance, o.Gain)
		}
		byReason[o.Reason] = append(byReason[o.Reason], note)
	}
	for _, reason := range advice.Reasons() {
		if list := byReason[reason]; len(list) > 0 {
			fmt.Fprintf(&b, "%s: %s\n", reason, strings.Join(list, ", "))
		}
	}
	return b.String()
}

func tellOption(b *strings.Builder, what string, o *advice.Option) {
	fmt.Fprintf(b, "%s %s (%s, %s, %s)\n", what, o.Remedy, o.Band, o.When, o.Reason)
	b.WriteString("  because")
	if o.Because.Gate != "" {
		fmt.Fprintf(b, " gate %s", o.Because.Gate)
	}
	if o.Because.Parameter != "" {
		fmt.Fprintf(b, " %s is %s", o.Because.Parameter, o.Because.Value)
	}
	if o.Because.HasLimit {
		fmt.Fprintf(b, ", limit %s", o.Because.Limit)
	}
	unit := "steps"
	if o.InMoney {
		unit = "money"
	}
	fmt.Fprintf(b, "\n  becomes %s (%.2f), gain %.2f %s", o.Becomes, o.BecomesChance, o.Gain, unit)
	if o.Target != 0 {
		fmt.Fprintf(b, ", to %s", o.Target)
	}
	if o.Passes > 1 {
		fmt.Fprintf(b, ", %d passes", o.Passes)
	}
	if o.KGLost > 0 {
		fmt.Fprintf(b, ", %.1f kg out", o.KGLost)
	}
	if o.Cost > 0 {
		fmt.Fprintf(b, ", cost %.2f", o.Cost)
	}
	if o.CostUnknown {
		b.WriteString(", before its fee")
	}
	if m := o.More; m != nil {
		fmt.Fprintf(b, ", %d grains, %s g, %d readings more of %s", m.Grains, m.Grams, m.Repeats, m.Parameter)
		if m.CheckMeter {
			b.WriteString(", check the meter")
		}
	}
	fmt.Fprintf(b, ", %.1f h, due %d\n  cautions %v, %s\n", o.Hours, o.DueDays, o.Cautions, o.Source)
}
