package advice

import "threshline/grading"

// Use is what a lot is kept for.
type Use string

// The uses. The zero value is Food.
const (
	Food Use = ""
	Seed Use = "seed"
)

// Moistures that the advice turns on, % wet basis.
const (
	// MicrobesAbove: above this the moulds and bacteria of fresh paddy
	// multiply: dry at once. Source: [ISO-17301 introduction], read in a sample
	// text of that standard.
	MicrobesAbove grading.Decimal = 18 * grading.One
	// OverDryBelow: below this paddy for food has given away weight, and taking
	// up water again cracks it ([RKMP-HRY] on re-wetting). The figure 12 is the lower
	// end of what storage tables ask of food grain. Source: [DIPON-17].
	OverDryBelow grading.Decimal = 12 * grading.One
)

// keepRow is one row of the storage table: grain kept up to Days may hold Max.
type keepRow struct {
	days int
	max  grading.Decimal
}

// keepTable is the highest moisture, % wet basis, inclusive, by how long paddy
// for food is kept. Source: [IRRI-STORE] for 14, 13 and 9; [IRRI-STORE-OLD] for
// the first row (14 to 18 for two to three weeks, the dry end taken, because a
// short wait often becomes a long one). The current page prints its 9 % row as
// "less than 1 year", a misprint: the older manual has "more than 1 year". The
// pages leave a gap between "a few months" and "8 months": what is kept for
// over 120 days is dried as for 8 months (our choice, [ASSUMED-ADVICE]).
var keepTable = []keepRow{
	{21, 14 * grading.One},
	{120, 14 * grading.One},
	{365, 13 * grading.One},
}

// SeedMoisture is the highest moisture of seed to be kept, % wet basis,
// inclusive. Source: [IRRI-STORE].
const SeedMoisture grading.Decimal = 12 * grading.One

// OverAYearMoisture is the highest moisture of grain kept over a year, % wet
// basis, inclusive. Source: [IRRI-STORE-OLD]; see keepTable for the misprint.
const OverAYearMoisture grading.Decimal = 9 * grading.One

// KeepTarget is the moisture to dry to, % wet basis, for a lot kept for days;
// 0 days is unknown and gives the 14 % of a few weeks to a few months.
func KeepTarget(use Use, days int) grading.Decimal {
	target := OverAYearMoisture
	for i := len(keepTable) - 1; i >= 0; i-- {
		if days <= keepTable[i].days {
			target = keepTable[i].max
		}
	}
	if use == Seed {
		return min(target, SeedMoisture)
	}
	return target
}

// SpoilsAbove is the moisture, % wet basis, above which a lot does not keep for
// days: drying then comes before everything but a safety stop. For up to three
// weeks, and when the days are unknown, it is MicrobesAbove
// ([IRRI-STORE-OLD], 14 to 18 for two to three weeks); from then on it is what
// KeepTarget allows, but never under 13: drier than that is prudence, not rescue.
func SpoilsAbove(use Use, days int) grading.Decimal {
	if days <= keepTable[0].days {
		return MicrobesAbove
	}
	return max(KeepTarget(use, days), 13*grading.One)
}

// overDryBelow is OverDryBelow, or the keeping target where that is lower.
func overDryBelow(use Use, days int) grading.Decimal {
	return min(OverDryBelow, KeepTarget(use, days))
}

// DryingGuard is how far under a limit to dry, percentage points: a lot dried
// to the limit itself has an even chance to be over it when the buyer measures.
// Source: our choice, [ASSUMED-ADVICE]; hand meters repeat within about half a
// point.
const DryingGuard = grading.One / 2

// dryTarget is the moisture to dry a lot to: DryingGuard under the best
// grade's limit, or the keeping target where that is lower. has is false when
// the standard limits no moisture and nothing is said about keeping.
func dryTarget(s *grading.Standard, class string, use Use, days int) (target grading.Decimal, has bool) {
	if days > 0 || use == Seed {
		target, has = KeepTarget(use, days), true
	}
	if limit, ok := MoistureLimit(s, class); ok {
		if guarded := limit - DryingGuard; !has || guarded < target {
			target = guarded
		}
		has = true
	}
	return target, has
}

// DryingTarget is the moisture, % wet basis, that a lot of no known use is dried
// to by After: for the best grade, or for keeping where a standard limits none.
func DryingTarget(s *grading.Standard, class string) grading.Decimal {
	if target, ok := dryTarget(s, class, Food, 0); ok {
		return target
	}
	return KeepTarget(Food, 0)
}

// MoistureLimit is the highest moisture, % wet basis, of the best grade, or of a
// gate that refuses what is over it, whichever is lower; of a matrix, the top of
// its driest band.
func MoistureLimit(s *grading.Standard, class string) (grading.Decimal, bool) {
	p := MoistureParameter(s)
	if p == nil || len(s.Grades) == 0 {
		return 0, false
	}
	if m := s.Matrix; s.Rule == grading.MatrixOf && m != nil {
		switch {
		case m.Row == p.ID && len(m.RowMax) > 0:
			return m.RowMax[0], true
		case m.Column == p.ID && len(m.ColumnMax) > 0:
			return m.ColumnMax[0], true
		}
	}
	limit, ok := gateMax(s, p.ID)
	if b, has := s.Grades[0].Bound(class, p.ID); has && b.Max != nil {
		return lower(limit, ok, *b.Max), true
	}
	return limit, ok
}

// gateMax is the lowest bound over which a gate refuses the lot by a parameter.
func gateMax(s *grading.Standard, id grading.ParameterID) (lowest grading.Decimal, has bool) {
	for i := range s.Gates {
		if g := &s.Gates[i]; g.Parameter == id && !g.Remark && g.Bound.Max != nil {
			lowest, has = lower(lowest, has, *g.Bound.Max), true
		}
	}
	return lowest, has
}

// lower is the lower of two limits, or the other where there is not yet one.
func lower(limit grading.Decimal, has bool, other grading.Decimal) grading.Decimal {
	if !has {
		return other
	}
	return min(limit, other)
}

// MoistureParameter is the parameter made of the mean moisture alone; nil where
// a standard has none.
func MoistureParameter(s *grading.Standard) *grading.Parameter {
	for i := range s.Parameters {
		p := &s.Parameters[i]
		if len(p.Terms) == 1 && p.Terms[0].Kind == grading.MeanOf && p.Terms[0].Fields[0] == grading.Moisture {
			return p
		}
	}
	return nil
}
