package chance_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"threshline/grading"
	"threshline/grading/chance"
)

// drift changes the lot a little, as remedies, second thoughts and the next
// grower do: a reading, a value given directly, a word, a flag, the class.
func drift(rng *rand.Rand, s *grading.Standard, r grading.Readings) grading.Readings {
	r = r.Clone()
	for range 1 + rng.IntN(3) {
		switch f := grading.Fields()[rng.IntN(len(grading.Fields()))]; rng.IntN(8) {
		case 0:
			r.Unset(f)
		case 1:
			p := s.Parameters[rng.IntN(len(s.Parameters))]
			if p.Unit == grading.Word {
				r.Words = map[grading.ParameterID]string{p.ID: p.Words[rng.IntN(len(p.Words))]}
				break
			}
			r.Values = map[grading.ParameterID]grading.Decimal{p.ID: grading.Decimal(rng.IntN(30)) * grading.One / 2}
		case 2:
			r.Values, r.Words, r.Flags = nil, nil, nil
		case 3:
			r.Flags = []grading.Flag{s.Flags()[rng.IntN(len(s.Flags()))]}
		case 4:
			if len(s.Classes) > 0 {
				r.Class = s.Classes[rng.IntN(len(s.Classes))]
			}
		case 5:
			r.Repeats = append(r.Repeats, grading.Decimal(120+rng.IntN(60))*grading.One/10)
		default:
			r.Set(f, likely(rng, f))
		}
	}
	return r
}

// likely is a number that the field may well hold.
func likely(rng *rand.Rand, f grading.Field) grading.Decimal {
	switch {
	case f == grading.SampleWeight || f == grading.Counted:
		return grading.NewDecimal(100 * (1 + rng.IntN(4)))
	case f == grading.CleanWeight:
		return grading.NewDecimal(96)
	case f == grading.BrownWeight:
		return grading.NewDecimal(70 + rng.IntN(10))
	case f.Kind() == grading.CountField:
		return grading.NewDecimal(rng.IntN(9))
	case f == grading.Moisture:
		return grading.Decimal(110+rng.IntN(80)) * grading.One / 10
	}
	return grading.Decimal(rng.IntN(400)) * grading.One / 100
}

// TestTryIsAssessWhateverCameBefore: an assessor that has tried and assessed
// many lots says of the next what one that has seen none says, to the last bit.
func TestTryIsAssessWhateverCameBefore(t *testing.T) {
	t.Logf("seed %d", simulationSeed)
	for _, s := range builtin(t) {
		t.Run(s.ID, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(simulationSeed, 5))
			used := assessor(t, s)
			var lot grading.Readings
			var res, fresh grading.Result
			tried, complete := 0, 0
			for i := range 3000 {
				if i%40 == 0 {
					lot = grading.Readings{}
					for _, f := range grading.Fields() {
						lot.Set(f, likely(rng, f))
					}
				}
				next := drift(rng, s, lot)
				if rng.IntN(3) == 0 {
					lot = next
				}
				clean := assessor(t, s)
				if err := clean.Assess(&next, &fresh); rng.IntN(4) == 0 {
					if again := used.Assess(&next, &res); (err == nil) != (again == nil) || res.Confidence != fresh.Confidence {
						t.Fatalf("%v and %v, %v and %v: %+v", err, again, res.Confidence, fresh.Confidence, next)
					}
				} else if sameTrial(t, used, &next, &fresh, err) {
					tried++
					if fresh.Complete {
						complete++
					}
				}
			}
			if tried < 500 || s.Status == grading.Demo && complete < 100 {
				t.Errorf("only %d tried, %d of them complete", tried, complete)
			}
		})
	}
}

// sameTrial compares one trial with what Assess made of the lot. It says
// whether the lot could be graded.
func sameTrial(t *testing.T, used *chance.Assessor, lot *grading.Readings, want *grading.Result, wantErr error) bool {
	t.Helper()
	used.Like(lot)
	got, err := used.Try(lot)
	if (err == nil) != (wantErr == nil) || err != nil && err.Error() != wantErr.Error() {
		t.Fatalf("%v, Assess says %v: %+v", err, wantErr, lot)
	}
	if err != nil {
		return false
	}
	upTo := slices.Clone(got.OrBetter)
	if again, err := used.Try(lot); err != nil || !slices.Equal(again.OrBetter, upTo) {
		t.Fatalf("%v, tried again %v, before %v", err, again.OrBetter, upTo)
	}
	better, exactly := 0.0, 1.0
	if got.Rank > 1 && got.Rank-2 < len(upTo) {
		better = upTo[got.Rank-2]
	}
	if got.Rank-1 < len(upTo) {
		exactly = upTo[got.Rank-1]
	}
	if got.Grade != want.Grade || got.Rank != want.Rank {
		t.Fatalf("%s, Assess says %s: %+v", got.Grade, want.Grade, lot)
	}
	if want.Complete && got.Rank <= len(upTo) && (better != want.Better || max(exactly-better, 0) != want.Confidence) {
		t.Fatalf("better %v and %v, confidence %v and %v: %+v", better, want.Better, exactly-better, want.Confidence, lot)
	}
	return true
}
