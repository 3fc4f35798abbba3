package standard_test

import (
	"testing"

	"threshline/grading"
)

// adjust gives the total change of a lot with one value set, percent, as text.
func adjust(t *testing.T, id, class, values, of string) string {
	t.Helper()
	s := load(t, id)
	in := `{"values":{` + values + `}`
	if class != "" {
		in += `,"class":"` + class + `"`
	}
	res := gradeJSON(t, s, in+"}")
	return total(grading.Adjustments(s, &res), of).Round(4).String()
}

// W13, derived from the steps of GB 1350-2009: 0.65 % for every full half
// point over or under 14.5 %, part steps ignored. The bonus under 12.5 % is
// ambiguous in the text ("no more from 2.5 points below"): 3.25 % if five
// steps still count, 2.60 % if only four do. The lower is taken, and said.
// Source: [GB-1350].
func TestMoistureStepsOfGB1350(t *testing.T) {
	for _, row := range []struct{ moisture, want string }{
		{"15.4", "-0.65"}, {"15.5", "-1.3"}, {"14.1", "0"}, {"11.9", "2.6"},
		{"14.5", "0"}, {"14.99", "0"}, {"15.0", "-0.65"}, {"14.0", "0.65"}, {"12.5", "2.6"}, {"12.0", "2.6"}, {"25", "-13.65"},
	} {
		if got := adjust(t, "gb1350-japonica", "", `"moisture":`+row.moisture, "weight"); got != row.want {
			t.Errorf("moisture %s: %s %%, want %s", row.moisture, got, row.want)
		}
	}
}

// Impurities: 0.3 % for every full 0.3 point; head rice: 1.5 % for every two
// points under the minimum of the lot's own grade. Source: [GB-1350].
func TestOtherStepsOfGB1350(t *testing.T) {
	for _, row := range []struct{ values, want string }{
		{`"impurities":1.0`, "0"}, {`"impurities":1.29`, "0"}, {`"impurities":1.3`, "-0.3"},
		{`"impurities":2.0`, "-0.9"}, {`"impurities":0.7`, "0.3"}, {`"impurities":0.71`, "0"},
		{`"husked_yield":80,"head_rice":58`, "0"}, {`"husked_yield":80,"head_rice":56.1`, "0"},
		{`"husked_yield":80,"head_rice":56`, "-1.5"}, {`"husked_yield":82,"head_rice":56`, "-3"},
		{`"husked_yield":80,"head_rice":56,"moisture":15.5,"impurities":1.3`, "-3.1"},
	} {
		if got := adjust(t, "gb1350-japonica", "", row.values, "weight"); got != row.want {
			t.Errorf("%s: %s %%, want %s", row.values, got, row.want)
		}
		if got := adjust(t, "gb1350-japonica", "", row.values, "price"); got != "0" {
			t.Errorf("%s changes the price by %s %%", row.values, got)
		}
	}
}

// W14, derived: moisture to one decimal, less 13; the cuts of all defects add
// up; where they start depends on the class. Source: [EU-1272 Annex II].
func TestPriceCutsOfTheEU(t *testing.T) {
	for _, row := range []struct{ class, values, want string }{
		{"round", `"moisture":13.74`, "-0.7"},
		{"round", `"moisture":13.75`, "-0.8"},
		{"round", `"moisture":13.04`, "0"},
		{"round", `"chalky":2.5`, "-1"}, {"round", `"chalky":2.49`, "0"},
		{"medium_long_a", `"chalky":3`, "-2"}, {"long_b", `"chalky":3`, "-3"}, {"long_b", `"chalky":2`, "-1"},
		{"round", `"red_striated":2.99`, "-1"}, {"round", `"red_striated":3`, "-2"},
		{"round", `"spotted_stained":0.75`, "-0.8"}, {"round", `"amber":0.3`, "-1.25"}, {"round", `"amber":0.29`, "0"},
		{"round", `"yellow":0.145`, "-6"}, {"round", `"yellow":0.144`, "0"},
		{"round", `"other_varieties":3.1`, "-0.1"}, {"round", `"other_varieties":5`, "-2"},
		{"round", `"moisture":13.74,"chalky":2.5,"red_striated":3`, "-3.7"},
	} {
		if got := adjust(t, "eu-1272-2009", row.class, row.values, "price"); got != row.want {
			t.Errorf("%s %s: %s %%, want %s", row.class, row.values, got, row.want)
		}
	}
}

func TestAnAdjustmentNeverTouchesTheGrade(t *testing.T) {
	s := load(t, "gb1350-japonica")
	res := gradeJSON(t, s, `{"values":{"husked_yield":80,"head_rice":58,"moisture":20,"impurities":1,"yellow":0,"husked_grains":0,"other_kinds":0}}`)
	if res.Grade != "2" || len(res.Remarks) != 1 || res.Remarks[0] != "moisture" {
		t.Errorf("got %q with remarks %q, want 2 with moisture", res.Grade, res.Remarks)
	}
	a := grading.Adjustments(s, &res)
	if len(a) != 1 || a[0].Steps.Round(0) != 11*grading.One || a[0].Rule.Parameter != "moisture" || a[0].Capped {
		t.Errorf("got %+v", a)
	}
}

// total adds the adjustments of "price" or of "weight", percent.
func total(adjustments []grading.Adjustment, of string) (sum grading.Ratio) {
	for _, a := range adjustments {
		if a.Rule.Of == of {
			sum = sum.Add(a.Percent)
		}
	}
	return sum
}
