package advice

import (
	"math"

	g "threshline/grading"
)

// Checked is one check of a lot, as far as a comparison needs it.
type Checked struct {
	Readings g.Readings
	Result   g.Result
	KG       g.Decimal // 0 unknown
	// TakenOver says that KG comes from the check before and was not weighed
	// again: the comparison subtracts the water and dirt that left the lot.
	TakenOver bool
}

// Moved is how one parameter changed between two checks.
type Moved struct {
	Parameter     g.ParameterID
	Before, After g.Decimal // as shown
	// Clear says that the change is more than the two samples can explain: their
	// 95 % bounds do not overlap.
	Clear bool
}

// Doubt is a sign that two checks are not of the same lot, or that one of them
// was misread. The words are under "recheck.<id>".
type Doubt string

// The doubts.
const (
	// Heavier: it weighs more than before by over HeavierBy; nothing here adds weight.
	Heavier Doubt = "heavier"
	// LostTooMuch: it weighs less by over LostBy beyond the water and dirt
	// that left it.
	LostTooMuch Doubt = "lost_too_much"
	// MendedItself: a fault that no remedy mends (red, other variety, discoloured,
	// cracked) is clearly smaller than before.
	MendedItself Doubt = "mended_itself"
	// Wetter: it took up water, by over half a point.
	Wetter Doubt = "wetter"
)

// How far weights may differ without doubt. Source: our choice,
// [ASSUMED-ADVICE]: bags are counted and rarely weighed to better than this.
const (
	HeavierBy = 0.01
	LostBy    = 0.05
)

// Change is what became of a lot between two checks and what it earned.
type Change struct {
	Moved []Moved
	// Steps is how many grades it rose; negative when it fell.
	Steps int
	// KG is how much lighter it became; HasKG that both weights are known.
	// Reckoned says that the later weight was reckoned, not weighed.
	KG              g.Decimal
	HasKG, Reckoned bool
	// Earned is what the lot fetches now less what it fetched before, at the
	// stated grades, by the programme's prices and the buyer's deductions.
	// HasMoney is false when a price or weight is missing.
	Earned   g.Decimal
	HasMoney bool
	Doubts   []Doubt
}

// Compare says what changed between an earlier check of a lot and a later one,
// graded by the same standard, and what it earned. Results of different
// standards share no ladder: then Steps is 0 and HasMoney false.
func Compare(s *g.Standard, settings Settings, before, after Checked) Change {
	ch := Change{Moved: moved(&before.Result, &after.Result)}
	if before.Result.StandardID != after.Result.StandardID {
		return ch
	}
	ch.Steps = before.Result.Rank - after.Result.Rank
	if before.KG > 0 && after.TakenOver {
		after.KG, ch.Reckoned = g.Decimal(math.Round(float64(before.KG)*left(s, &before, &after))), true
	}
	if before.KG > 0 && after.KG > 0 {
		ch.KG, ch.HasKG = before.KG-after.KG, true
		was, known := fetches(s, settings, &before)
		is, both := fetches(s, settings, &after)
		if known && both {
			ch.Earned, ch.HasMoney = is-was, true
		}
	}
	ch.Doubts = doubts(s, &before, &after, ch.Moved)
	return ch
}

func moved(before, after *g.Result) []Moved {
	var list []Moved
	for i := range before.Parameters {
		b := &before.Parameters[i]
		a := after.Parameter(b.ID)
		if a == nil || !a.Measured || !b.Measured || b.Unit == g.Word {
			continue
		}
		if a.Shown != b.Shown || a.Rank != b.Rank {
			bounded := b.High > b.Low && a.High > a.Low
			list = append(list, Moved{b.ID, b.Shown, a.Shown, bounded && (a.High < b.Low || a.Low > b.High)})
		}
	}
	return list
}

// fetches is what a lot fetches at its stated grade.
func fetches(s *g.Standard, settings Settings, c *Checked) (g.Decimal, bool) {
	price, ok := settings.Prices[c.Result.Grade]
	if c.Result.OutOfGrade() && !ok {
		price, ok = settings.OutPrice, settings.OutPrice > 0
	}
	if !ok || c.KG > MaxKG {
		return 0, false
	}
	if m, wet := MoistureOf(s, &c.Readings); wet {
		paid, taken := Deduct(price, m, settings.Deductions)
		if price = paid; !taken {
			price = settings.OutPrice
			ok = price > 0
		}
	}
	return mulDiv(c.KG, price, g.One), ok
}

// unmendable are the fields that nothing done to a lot makes better.
var unmendable = func() (set fieldSet) {
	for _, f := range g.Fields() {
		if f.Lasting() {
			set = set.With(f)
		}
	}
	return set
}()

func doubts(s *g.Standard, before, after *Checked, moves []Moved) []Doubt {
	var list []Doubt
	wasWet, hadWater := MoistureOf(s, &before.Readings)
	isWet, hasWater := MoistureOf(s, &after.Readings)
	if before.KG > 0 && after.KG > 0 && !after.TakenOver {
		ratio, due := after.KG.Float()/before.KG.Float(), left(s, before, after)
		switch {
		case ratio > 1+HeavierBy:
			list = append(list, Heavier)
		case ratio < due-LostBy:
			list = append(list, LostTooMuch)
		}
	}
	for _, m := range moves {
		p := s.Parameter(m.Parameter)
		if p != nil && m.Clear && m.After < m.Before && onlyUnmendable(s, p) {
			list = append(list, MendedItself)
			break
		}
	}
	if hadWater && hasWater && isWet > wasWet+DryingGuard {
		list = append(list, Wetter)
	}
	return list
}

// left is the share of its weight that a lot keeps after losing the water and
// dirt by which two checks differ. It follows the mass balance of [IRRI-MC],
// and is at most 1.
func left(s *g.Standard, before, after *Checked) float64 {
	share := 1.0
	wasWet, hadWater := MoistureOf(s, &before.Readings)
	isWet, hasWater := MoistureOf(s, &after.Readings)
	if hadWater && hasWater && isWet < wasWet && wasWet < hundred {
		share = (hundred - wasWet).Float() / (hundred - isWet).Float()
	}
	was, is := partsOf(s, &before.Readings), partsOf(s, &after.Readings)
	if clean := 1 - was.chaff - was.stones; clean > 0 {
		share *= math.Min(clean/math.Max(1-is.chaff-is.stones, clean), 1)
	}
	return share
}

func onlyUnmendable(s *g.Standard, p *g.Parameter) bool {
	m := madeOf(s, p)
	return m.fields != 0 && m.fields&^unmendable == 0
}
