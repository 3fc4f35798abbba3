package advice_test

import (
	"testing"

	"pgregory.net/rapid"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard"
)

// Whatever percentages are given, contradictory ones too, a remedy keeps the
// weight over nothing and not over the whole, and every value within its unit.
func TestRemediesOnExtremeValues(t *testing.T) {
	books, err := standard.Builtin()
	if err != nil || len(books) == 0 {
		t.Fatal(len(books), err)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := books[rapid.IntRange(0, len(books)-1).Draw(t, "standard")]
		r := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{}}
		for _, p := range s.Parameters {
			if p.Unit == grading.Word || rapid.IntRange(0, 2).Draw(t, "given") == 0 {
				continue
			}
			edge := rapid.SampledFrom([]int64{0, 1, 9_999, 10_000, 500_000, 999_999, 1_000_000, rapid.Int64Range(0, 1_000_000).Draw(t, "value")})
			r.Values[p.ID] = grading.Decimal(edge.Draw(t, string(p.ID)))
		}
		for _, f := range []grading.Field{grading.SampleWeight, grading.Chaff, grading.Stones, grading.BrownWeight, grading.LiveWeevils} {
			if rapid.Bool().Draw(t, f.String()) {
				r.Set(f, grading.NewDecimal(rapid.IntRange(0, 200).Draw(t, "reading")))
			}
		}
		if rapid.Bool().Draw(t, "metered") {
			r.Set(grading.Moisture, grading.Decimal(rapid.Int64Range(0, 999_999).Draw(t, "moisture")))
		}
		for _, rem := range advice.Remedies() {
			after, factor, applies := advice.After(s, r, rem.ID)
			if rem.When == advice.NextSeason {
				after, applies = advice.NextLot(s, r, rem.ID)
			}
			if !(factor > 0 && factor <= 1) {
				t.Fatalf("%s: weight is %v of what it was", rem.ID, factor)
			}
			for id, v := range after.Values {
				p := s.Parameter(id)
				if v < 0 || p.Unit.Percentage() && v > 100*grading.One {
					t.Fatalf("%s: %s went from %s to %s", rem.ID, id, r.Values[id], v)
				}
			}
			for _, f := range grading.Fields() {
				if d, ok := after.Get(f); ok && d < 0 {
					t.Fatalf("%s: %s went to %s (applies: %v)", rem.ID, f, d, applies)
				}
			}
		}
	})
}
