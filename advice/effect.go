package advice

import (
	"math"

	g "threshline/grading"
)

// level picks one figure of a Share.
type level uint8

const (
	low level = iota
	mid
	high
)

// weights are the chances given to the three levels.
var weights = [3]float64{0.25, 0.5, 0.25}

func (s Share) at(l level) float64 { return [3]float64{s.Low, s.Mid, s.High}[l] }

// After returns the readings as they would be after the remedy was done to this
// lot, in one pass at its middle effect, and the lot's weight as a factor of
// its weight before (over 0, at most 1). applies is false, and after is r, when
// nothing in the readings calls for the remedy or what it acts on was not
// measured, and always for what acts on the next season only: see NextLot.
// Drying goes to DryingGuard under the best grade's limit.
//
// Drying follows the mass balance; stones do not dry, so their share rises.
// Cleaning takes weights out of the bag and so raises the share of all that is
// left; grains counted on the pan never change. after shares unchanged parts
// with r: treat both as read-only.
func After(s *g.Standard, r g.Readings, id RemedyID) (after g.Readings, kgFactor float64, applies bool) {
	rem := RemedyOf(id)
	if s == nil || rem == nil || rem.When != ThisLot {
		return r, 1, false
	}
	if rem.Dries {
		return dried(s, &r, DryingTarget(s, classOf(s, &r)))
	}
	return taken(s, &r, rem, mid, 1)
}

func classOf(s *g.Standard, r *g.Readings) string {
	if r.Class != "" {
		return r.Class
	}
	return s.DefaultClass
}

// NextLot returns the readings of a similar lot of next season if the season
// remedy had been done: its assumed middle effect on the fields it acts on.
// Counts are rounded up to whole grains. applies is false when the lot holds
// nothing of what the remedy acts on, and for this lot's remedies.
func NextLot(s *g.Standard, r g.Readings, id RemedyID) (next g.Readings, applies bool) {
	rem := RemedyOf(id)
	if s == nil || rem == nil || rem.When != NextSeason {
		return r, false
	}
	next, _, applies = taken(s, &r, rem, mid, 1)
	return next, applies
}

// MoistureOf is the lot's moisture, % wet basis, from the meter or given directly.
func MoistureOf(s *g.Standard, r *g.Readings) (g.Decimal, bool) {
	if p := MoistureParameter(s); p != nil {
		if v, ok := r.Values[p.ID]; ok {
			return v, true
		}
	}
	return r.Get(g.Moisture)
}

// dried brings the moisture to target.
func dried(s *g.Standard, r *g.Readings, target g.Decimal) (after g.Readings, kgFactor float64, applies bool) {
	from, ok := MoistureOf(s, r)
	if !ok || from <= target || from >= hundred || target < 0 {
		return *r, 1, false
	}
	was := partsOf(s, r)
	factor := (hundred - from).Float() / (hundred - target).Float()
	after = *r
	// All that is not stone shrinks by grain, so that the whole shrinks by factor.
	grain := max(factor-was.stones, 0) / (1 - min(was.stones, 0.99))
	for _, f := range [...]g.Field{g.Chaff, g.CleanWeight, g.BrownWeight, g.BrokenWeight, g.ImmatureWeight} {
		if m, ok := r.Get(f); ok {
			after.Set(f, scaled(m, grain))
		}
	}
	if m, ok := r.Get(g.SampleWeight); ok {
		stones, _ := r.Get(g.Stones)
		after.Set(g.SampleWeight, max(scaledUp(m, factor), stones))
	}
	after.Repeats = make([]g.Decimal, len(r.Repeats))
	for i := range after.Repeats {
		after.Repeats[i] = target + r.Meter.Bias // as it would show it
	}
	if len(r.Values) > 0 {
		after.Values = rebased(s, r, func(f g.Field, ofSample bool) float64 {
			switch {
			case !ofSample:
				return 1
			case f == g.Stones:
				return 1 / factor
			}
			return grain / factor
		})
		if p := MoistureParameter(s); p != nil {
			if _, given := after.Values[p.ID]; given {
				after.Values[p.ID] = target
			}
		}
	}
	return after, factor, true
}

// taken takes the remedy's shares out, pass after pass. For this lot weights
// leave the bag and the rest is rebased; for the next season the fields are
// simply smaller, and the sample's weight is made up by good grain.
func taken(s *g.Standard, r *g.Readings, rem *Remedy, l level, passes int) (after g.Readings, kgFactor float64, applies bool) {
	var stays [g.FieldEnd]float64
	for f := range stays {
		stays[f] = 1
	}
	was := partsOf(s, r)
	gone := 0.0
	for i := range rem.Effects {
		e := &rem.Effects[i]
		left := math.Pow(1-e.Takes.at(l), float64(passes))
		if e.Field == g.SandWeight {
			continue // with the stones that it is of
		}
		if e.Field == g.Stones {
			left, stays[g.SandWeight] = rem.stonesLeft(r, l, passes, left)
		}
		stays[e.Field] = left
		switch e.Field {
		case g.Chaff:
			gone += was.chaff * (1 - left)
			applies = applies || was.chaff > 0
		case g.Stones:
			gone += was.stones * (1 - left)
			applies = applies || was.stones > 0 && left < 1
		default:
			n, _ := r.Get(e.Field)
			applies = applies || n > 0 || givenFor(s, r, e.Field)
		}
	}
	if !applies {
		return *r, 1, false
	}
	if rem.When == NextSeason {
		gone = 0
	}
	kgFactor = 1 - gone
	after = shrunk(r, &stays, rem.When == ThisLot)
	if len(r.Values) > 0 {
		after.Values = rebased(s, r, func(f g.Field, ofSample bool) float64 {
			if ofSample {
				return stays[f] / kgFactor
			}
			return stays[f]
		})
	}
	return after, kgFactor, true
}

// stonesLeft is what of stones, and of the sand among them, a remedy leaves,
// both as fractions of what there was; mixed where nobody weighed the sand
// apart. A sieve takes only sand; any other remedy for stones takes only the
// picked ones. Next season both become less.
func (r *Remedy) stonesLeft(lot *g.Readings, l level, passes int, mixed float64) (stones, sand float64) {
	fell, apart := lot.Get(g.SandWeight)
	all, _ := lot.Get(g.Stones)
	if !apart || all <= 0 || r.When == NextSeason {
		return mixed, mixed
	}
	part := fell.Float() / all.Float()
	for i := range r.Effects {
		if e := &r.Effects[i]; e.Field == g.SandWeight {
			sand = math.Pow(1-e.Takes.at(l), float64(passes))
			return 1 - part*(1-sand), sand
		}
	}
	return part + (1-part)*mixed, 1
}
