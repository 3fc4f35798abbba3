package standard_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"threshline/grading"
	"threshline/grading/standard"
)

func builtin(t testing.TB) []*grading.Standard {
	t.Helper()
	all, err := standard.Builtin()
	if err != nil || len(all) == 0 {
		t.Fatalf("%d standards, %v", len(all), err)
	}
	return all
}

// drawn is a lot of random direct values for a standard, some of them missing.
// A sum of parts is kept possible: an "of which" never exceeds its whole.
func drawn(t *rapid.T, s *grading.Standard) grading.Readings {
	r := grading.Readings{
		Values: map[grading.ParameterID]grading.Decimal{},
		Words:  map[grading.ParameterID]string{},
	}
	if len(s.Classes) > 0 {
		r.Class = rapid.SampledFrom(s.Classes).Draw(t, "class")
	}
	for i := range s.Parameters {
		p := &s.Parameters[i]
		if rapid.IntRange(0, 9).Draw(t, "kept") == 0 {
			continue
		}
		if p.Unit == grading.Word {
			r.Words[p.ID] = rapid.SampledFrom(p.Words).Draw(t, string(p.ID))
			continue
		}
		most := int64(30 * grading.One)
		if whole, ok := r.Values[p.PartOf]; ok {
			most = int64(whole)
		}
		d := grading.Decimal(rapid.Int64Range(0, most).Draw(t, string(p.ID)))
		if !p.Unit.Percentage() {
			d = d.Round(0)
			if whole, ok := r.Values[p.PartOf]; ok && d > whole {
				d = whole
			}
		}
		r.Values[p.ID] = d
	}
	return r
}

func gradeOf(t *rapid.T, s *grading.Standard, r grading.Readings) grading.Result {
	res, err := grading.Grade(s, r)
	if err != nil {
		t.Fatalf("%s: %v", s.ID, err)
	}
	return res
}

// rising reports whether more of the parameter is worse: it has an upper limit
// anywhere and no lower one.
func rising(s *grading.Standard, id grading.ParameterID) (worse int) {
	for rank := range s.Grades {
		for _, class := range append([]string{""}, s.Classes...) {
			if b, ok := s.Limit(class, rank+1, id); ok && b.Min != nil {
				return -1
			}
		}
	}
	for _, g := range s.Gates {
		if g.Parameter == id && g.Bound.Min != nil {
			return -1
		}
	}
	return 1
}

func TestWorseNeverGradesBetter(t *testing.T) {
	all := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(all).Draw(t, "standard")
		r := drawn(t, s)
		before := gradeOf(t, s, r)
		worse := r.Clone()
		p := rapid.SampledFrom(s.Parameters).Draw(t, "parameter")
		if old, ok := r.Words[p.ID]; ok {
			later := p.Words[slices.Index(p.Words, old):]
			worse.Words[p.ID] = rapid.SampledFrom(later).Draw(t, "word")
		} else if old, ok := r.Values[p.ID]; ok {
			step := grading.Decimal(rapid.Int64Range(0, 100000).Draw(t, "step")).Round(0)
			if rising(s, p.ID) < 0 {
				step = -min(step, old)
			}
			worse.Values[p.ID] = old + step
			if whole, ok := worse.Values[p.PartOf]; ok && worse.Values[p.ID] > whole {
				return // cannot be
			}
			for _, q := range s.Parameters {
				if part, ok := worse.Values[q.ID]; ok && q.PartOf == p.ID && part > worse.Values[p.ID] {
					return // cannot be
				}
			}
		}
		if after := gradeOf(t, s, worse); after.Rank < before.Rank {
			t.Fatalf("%s: %s got worse and the lot went from rank %d to %d", s.ID, p.ID, before.Rank, after.Rank)
		}
		flagged := r.Clone()
		flagged.Flags = append(flagged.Flags, rapid.SampledFrom(s.Flags()).Draw(t, "flag"))
		if after := gradeOf(t, s, flagged); after.Rank < before.Rank && before.Grade != grading.NoGrade {
			t.Fatalf("%s: a flag made the lot better", s.ID)
		}
	})
}

func TestAMissingReadingNeverImprovesTheGradeWhenItComes(t *testing.T) {
	all := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(all).Draw(t, "standard")
		whole := drawn(t, s)
		full := gradeOf(t, s, whole)
		p := rapid.SampledFrom(s.Parameters).Draw(t, "parameter")
		less := whole.Clone()
		delete(less.Values, p.ID)
		delete(less.Words, p.ID)
		part := gradeOf(t, s, less)
		if full.Rank < part.Rank && part.Grade != grading.NoGrade { // which any reading lifts
			t.Fatalf("%s: no better than rank %d became rank %d once %s was known", s.ID, part.Rank, full.Rank, p.ID)
		}
		if part.Complete && !full.Complete {
			t.Fatalf("%s: knowing %s made the grade less complete", s.ID, p.ID)
		}
		if part.Complete && full.Rank != part.Rank && p.Required {
			t.Fatalf("%s: %s changed a grade that was called complete", s.ID, p.ID)
		}
	})
}

// Twice the sample with twice the matter in it is the same lot, and so is a
// pan counted twice over; percentages given directly are what the weights make.
func TestUnitAndBasisChangesAgree(t *testing.T) {
	all := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(all).Draw(t, "standard")
		var one grading.Readings
		weight := func(f grading.Field, low, high int64) {
			one.Set(f, grading.Decimal(rapid.Int64Range(low, high).Draw(t, f.String()))*1000)
		}
		weight(grading.SampleWeight, 1000, 3000)
		weight(grading.CleanWeight, 900, 1000)
		weight(grading.BrownWeight, 700, 800)
		weight(grading.Chaff, 0, 60)
		weight(grading.Stones, 0, 60)
		weight(grading.ImmatureWeight, 0, 80)
		one.Set(grading.Counted, 100*grading.One)
		for _, f := range []grading.Field{grading.PestDamaged, grading.Discoloured, grading.Red, grading.OtherVariety} {
			one.Set(f, grading.Decimal(rapid.Int64Range(0, 20).Draw(t, f.String()))*grading.One)
		}
		// At a meter's step: a mean between two steps is compared at the nearest, a percentage as it is.
		one.Set(grading.Moisture, grading.Decimal(rapid.Int64Range(100, 200).Draw(t, "moisture"))*grading.DefaultMeterStep)
		k := grading.Decimal(rapid.Int64Range(2, 7).Draw(t, "times"))
		many := one.Clone()
		for _, f := range grading.Fields()[1:] {
			if d, ok := one.Get(f); ok {
				many.Set(f, d*k)
			}
		}
		a, b := gradeOf(t, s, one), gradeOf(t, s, many)
		direct := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{}}
		for i := range a.Parameters {
			if a.Parameters[i].Value.CmpRatio(b.Parameters[i].Value) != 0 {
				t.Fatalf("%s: %s depends on the size of the sample", s.ID, a.Parameters[i].ID)
			}
			if v := a.Parameters[i].Value; a.Parameters[i].Measured && v.Cmp(v.Round(4)) == 0 {
				direct.Values[a.Parameters[i].ID] = v.Round(4)
			}
		}
		if a.Rank != b.Rank || !slices.Equal(a.Deciding, b.Deciding) {
			t.Fatalf("%s: rank %d by %v and %d by %v", s.ID, a.Rank, a.Deciding, b.Rank, b.Deciding)
		}
		if c := gradeOf(t, s, direct); c.Rank > a.Rank {
			t.Fatalf("%s: the percentages alone grade worse than the weights", s.ID)
		}
	})
}

// An evaluator that is used again gives what a fresh one gives.
func TestAnEvaluatorForgetsTheLotBefore(t *testing.T) {
	all := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(all).Draw(t, "standard")
		e := grading.NewEvaluator(s)
		var used grading.Result
		for range 3 {
			r := drawn(t, s)
			if err := e.Grade(&r, &used); err != nil {
				t.Fatal(err)
			}
			fresh := gradeOf(t, s, r)
			if used.Grade != fresh.Grade || used.Complete != fresh.Complete || used.Class != fresh.Class ||
				!slices.Equal(used.Deciding, fresh.Deciding) || !slices.Equal(used.Missing, fresh.Missing) ||
				!slices.Equal(used.Gates, fresh.Gates) || !slices.Equal(used.Remarks, fresh.Remarks) {
				t.Fatalf("%s: got %+v, want %+v", s.ID, used, fresh)
			}
		}
	})
}
