package standard_test

import (
	"testing"

	"threshline/grading"
)

const handReadings = `{"moisture":[13.8,14.1,13.9],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,"clean_g":196.9,
	"brown_g":155.2,"immature_g":1.1,"counted":100,"pest_damaged":0,"discoloured":1,"red":2,"other_variety":3}`

// BenchmarkGrade is one lot of hand readings by AGMARK: Grade alone, and the
// evaluator that a what-if over many lots uses.
func BenchmarkGrade(b *testing.B) {
	s := load(b, "agmark-paddy")
	var r grading.Readings
	if err := r.UnmarshalJSON([]byte(handReadings)); err != nil {
		b.Fatal(err)
	}
	b.Run("once", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := grading.Grade(s, r); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("evaluator", func(b *testing.B) {
		b.ReportAllocs()
		e := grading.NewEvaluator(s)
		var res grading.Result
		for b.Loop() {
			if err := e.Grade(&r, &res); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("read", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			var in grading.Readings
			if err := in.UnmarshalJSON([]byte(handReadings)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
