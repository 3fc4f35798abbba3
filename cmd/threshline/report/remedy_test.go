package report

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard/standardtest"
)

// TestTheWholeSetOfStepsIsWritten: of a lot that two remedies mend together and
// none alone, programs get both, and what both together make of it.
func TestTheWholeSetOfStepsIsWritten(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	in := `{"moisture":[16.4,16.5,16.3],"sample_g":200,"chaff_g":10,"stones_g":0.4,"brown_g":150,"immature_g":1.5,
	"counted":400,"pest_damaged":1,"discoloured":2,"red":2,"kg":600}`
	g := Grader{Standard: s, Advise: true, Form: JSON, Currency: "MVS", Settings: advice.Settings{
		DayWage: grading.NewDecimal(300), OutPrice: grading.NewDecimal(34), Prices: map[grading.GradeLabel]grading.Decimal{
			"Grade 1": grading.NewDecimal(58), "Grade 2": grading.NewDecimal(52), "Grade 3": grading.NewDecimal(45),
		},
	}}
	g.Form = Page
	if page, _ := grade(t, g, in); !strings.Contains(page, "SELL NOW, MEND, DRY OR KEEP") || !strings.Contains(page, "* both (winnow, dry_sun): Grade 1") || !strings.Contains(page, "  sell: Below grade") {
		t.Errorf("the page does not compare what can be done:\n%s", page)
	}
	if page, _ := grade(t, g, in); !strings.Contains(page, "pays as soon as it rises") || strings.Contains(page, "rises by 0.0 %") {
		t.Errorf("kept as it is after the same work, the lot pays from any rise:\n%s", page)
	}
	g.Form = JSON
	out, _ := grade(t, g, in)
	var got struct {
		Remedy struct {
			ID, Becomes, Gain, Cost string
			Steps                   []string
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	r := got.Remedy
	if !slices.Contains(r.Steps, "dry_sun") || !slices.Contains(r.Steps, "winnow") || r.Steps[0] != r.ID || r.Becomes != "Grade 1" ||
		strings.HasPrefix(r.Gain, "-") || !strings.HasSuffix(r.Gain, " MVS") || !strings.HasSuffix(r.Cost, " MVS") {
		t.Errorf("got %+v of %s", r, out)
	}
}

// TestATableOutOfForceIsNamed: in every way to answer, and only then.
func TestATableOutOfForceIsNamed(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	expired := *s
	expired.ValidTo = "2025-12-31"
	for form, want := range map[Form]string{Lines: "WARNING: the table is not in force, to 2025-12-31", JSON: `"in_force":false`, Page: "WARNING: the table is not in force"} {
		for day, named := range map[string]bool{"2026-01-01": true, "2025-12-31": false, "": false} {
			out, _ := grade(t, Grader{Standard: &expired, Form: form, Day: day}, `{"moisture":[21]}`)
			if got := strings.Contains(out, want); got != named {
				t.Errorf("form %d on %q: named %v, want %v:\n%s", form, day, got, named, out)
			}
		}
	}
}
