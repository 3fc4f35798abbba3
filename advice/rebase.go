package advice

import (
	"maps"
	"math"

	g "threshline/grading"
)

// scaled is m times factor (0 to 1), rounded down: parts of a sample then
// never add up to more than the whole.
func scaled(m g.Decimal, factor float64) g.Decimal {
	return g.Decimal(math.Floor(float64(m)*factor + 1e-6))
}

// scaledUp is m times factor, rounded up.
func scaledUp(m g.Decimal, factor float64) g.Decimal {
	return g.Decimal(math.Ceil(float64(m)*factor - 1e-6))
}

// shrunk gives the readings with the share stays[f] of each field left. What
// leaves the bag leaves the sample's weight too; for a next lot it does not.
func shrunk(r *g.Readings, stays *[g.FieldEnd]float64, leaves bool) g.Readings {
	after := *r
	gone := g.Decimal(0)
	for f := range g.Field(g.FieldEnd) {
		if stays[f] == 1 {
			continue
		}
		m, ok := r.Get(f)
		if !ok {
			continue
		}
		left := scaled(m, stays[f])
		if f.Kind() == g.CountField {
			left = scaledUp(m/g.One, stays[f]) * g.One
		} else if f == g.Chaff || f == g.Stones {
			gone += m - left
		}
		after.Set(f, left)
	}
	if whole, ok := r.Get(g.SampleWeight); ok && leaves && gone > 0 {
		after.Set(g.SampleWeight, max(whole-gone, 0))
	}
	return after
}

// rebased gives the values that were given directly as they are after each
// field's share of them is multiplied by by(field, of the sample's weight). A
// value made of several fields is split as the readings split it, else evenly;
// one whose terms are partly of the sample and partly not stays as it is, since
// it cannot be split.
func rebased(s *g.Standard, r *g.Readings, by func(g.Field, bool) float64) map[g.ParameterID]g.Decimal {
	values := maps.Clone(r.Values)
	for i := range s.Parameters {
		p := &s.Parameters[i]
		v, ok := values[p.ID]
		if !ok {
			continue
		}
		m := madeOf(s, p)
		if m.fields == 0 || m.mixed {
			continue
		}
		whole := g.Decimal(0)
		if m.complement {
			whole = p.Constant
			v = whole - v
		}
		v = g.Decimal(math.Round(float64(v) * split(r, m, by)))
		if m.complement {
			v = whole - v
		}
		if p.Unit.Percentage() {
			v = min(max(v, 0), hundred)
		}
		values[p.ID] = v
	}
	return values
}

// split is the mean of by over a value's fields, weighted as the readings
// stand when all of them were measured, else evenly.
func split(r *g.Readings, m makeup, by func(g.Field, bool) float64) float64 {
	sum, weight, plain, n, measured := 0.0, 0.0, 0.0, 0.0, true
	for _, f := range m.fields.Fields() {
		d, ok := r.Get(f)
		measured = measured && ok
		factor := by(f, m.ofSample)
		sum += factor * d.Float()
		weight += d.Float()
		plain += factor
		n++
	}
	if measured && weight > 0 {
		return sum / weight
	}
	return plain / max(n, 1)
}

// givenFor reports whether a value that stands for the field was given directly
// and is not nil.
func givenFor(s *g.Standard, r *g.Readings, f g.Field) bool {
	for i := range s.Parameters {
		p := &s.Parameters[i]
		if v, ok := r.Values[p.ID]; ok && v != 0 {
			if m := madeOf(s, p); m.fields&bit(f) != 0 && !m.mixed {
				return true
			}
		}
	}
	return false
}
