package advice

import (
	"time"

	"threshline/advice/air"
	g "threshline/grading"
)

// Keeping is what open bags do in a month's mean air.
type Keeping struct {
	Month time.Month
	Air   Month
	// Known is false when the climate table has nothing usable for the month;
	// the rest is then zero.
	Known bool
	// Settles is where paddy comes to rest in that air, % wet basis: the span of
	// both D245 models. Grain that is still losing water stops somewhat above it.
	Settles air.Span
	// CanStay says that open bags can stay at the moisture: the drier end of
	// Settles is not above it. Where it is not so they take up water.
	CanStay bool
	// HumidityBetween is the humidity of the air between the grains, 0 to 1, at
	// the moisture: the higher of both models. Over 0.65 moulds are not held
	// back ([IRRI-ERH]).
	HumidityBetween float64
	MouldSafe       bool
}

// MouldHeldAt is the humidity, 0 to 1, of the air between the grains at or under
// which mould is held back in store. Source: [IRRI-ERH].
const MouldHeldAt = 0.65

// IsKnown reports whether a month of a climate table is filled in.
func (m Month) IsKnown() bool { return m.Humidity > 0 }

// SafeKeeping says what open bags of paddy at moisture, % wet basis, do in the
// mean air of a month. A month whose humidity or temperature lies outside the range
// of the isotherms is not known.
func SafeKeeping(climate Climate, moisture g.Decimal, month time.Month) Keeping {
	k := Keeping{Month: month}
	if month < time.January || month > time.December || !climate[month-1].IsKnown() {
		return k
	}
	k.Air = climate[month-1]
	settles, err := air.Equilibrium(k.Air.Celsius, k.Air.Humidity)
	if err != nil {
		return k
	}
	m := moisture.Float()
	h, err := air.Henderson.Humidity(k.Air.Celsius, m)
	if err != nil {
		return k
	}
	c, err := air.ChungPfost.Humidity(k.Air.Celsius, m)
	if err != nil {
		return k
	}
	k.Known, k.Settles = true, settles
	k.CanStay = settles.Low <= m
	k.HumidityBetween = max(h, c)
	k.MouldSafe = k.HumidityBetween <= MouldHeldAt
	return k
}

// KeepingThrough is SafeKeeping for the dampest known month while a lot is kept
// for days, beginning at from: the month in which paddy settles wettest.
func KeepingThrough(climate Climate, moisture g.Decimal, from time.Month, days int) Keeping {
	worst := Keeping{Month: from}
	for i := 0; i <= min(max(days, 0)/30, 11); i++ {
		k := SafeKeeping(climate, moisture, (from-1+time.Month(i))%12+1)
		if k.Known && (!worst.Known || k.Settles.Mid() > worst.Settles.Mid()) {
			worst = k
		}
	}
	return worst
}

// ShortKeep is how long, in days, exclusive, a lot may lie in open bags before
// damp air is worth a sealed bag. Source: our choice, [ASSUMED-ADVICE].
const ShortKeep = 30

// getsDamp reports whether the lot is dry enough to be sealed, and will be kept
// long enough and in air damp enough for open bags to take up water; and to
// what moisture.
func (l *lot) getsDamp() (air.Span, bool) {
	if l.c.KeepDays < ShortKeep || l.c.At.IsZero() || l.moisture > sealAt(l.c.Use) {
		return air.Span{}, false
	}
	k := KeepingThrough(l.c.Settings.Climate, l.moisture, l.c.At.Month(), l.c.KeepDays)
	return k.Settles, k.Known && !k.CanStay
}

// sealAt is the highest moisture to seal at, % wet basis: 14, seed 12.
// Source: [IRRI-HERM].
func sealAt(use Use) g.Decimal {
	if use == Seed {
		return SeedMoisture
	}
	return 14 * g.One
}
