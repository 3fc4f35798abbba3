package chance

import (
	"errors"
	"fmt"

	"threshline/grading"
)

// Level is the coverage of every interval of a Result: 95 %.
const Level = 0.95

// Certainty says how precisely the tools and the sample measure the lot. A zero
// field takes the value of DefaultCertainty, so that a programme sets only what
// it knows better.
type Certainty struct {
	// MeterRepeatability is the standard deviation of one moisture reading,
	// percentage points: meter, portion and handling together.
	MeterRepeatability float64
	// MeterDoubt is how far unchecked meters differ from the oven, as a standard
	// deviation around zero, percentage points. All readings of one meter share
	// this error, so repeats do not reduce it. A checked meter has its own doubt.
	MeterDoubt float64
	// ScaleStep is the smallest step of the scale, g.
	ScaleStep float64
	// GrainWeight is the weight of one paddy grain, g; HuskedWeight that of one
	// husked (brown) grain.
	GrainWeight, HuskedWeight float64
	// SpeckWeight is the weight of one speck of chaff, g, and StoneWeight
	// of one stone or clod: means weighted by mass (mean square over mean),
	// because the few heavy ones make the scatter.
	SpeckWeight, StoneWeight float64
	// LabPortion is the test portion behind a percentage given directly, g.
	LabPortion float64
	// LabCount is the grains behind a percentage by count given directly.
	LabCount float64
	// YieldDeviation is the standard deviation of one husking, g of brown rice
	// per 100 g of paddy.
	YieldDeviation float64
	// Usual is what lots of this place and season usually hold, by field, as
	// UsualOf learns it from a programme's own ledger: where the sample says
	// little, the chances use it. For a field that is not in it they use two
	// families of lots, clean and rough, mixed by the lot's own readings.
	Usual map[grading.Field]Usual
	// BagDeviation is how far the speared bags together differ from the whole lot,
	// because bags differ: a standard deviation, relative to the share that is
	// measured.
	BagDeviation float64
	// Alone judges the sample by itself, as if nothing were known of other lots
	// and all bags were alike. It is for comparing two samples of one lot.
	Alone bool
}

// DefaultCertainty is used when a programme sets nothing.
//
//   - MeterRepeatability 0.25: assumed. Three readings then spread over 1 point
//     about once in a hundred lots, which agrees with asking for them again
//     beyond 1 point. Those three scattered by 0.13 to 0.22 [HAND-METERS].
//   - MeterDoubt 1.13: three hand meters read 0.4, 0.9 and 1.7 above the oven,
//     1.13 off in the mean square [HAND-METERS].
//   - ScaleStep 0.01 g: assumed, the step at which 20 g resolves 0.05 %.
//   - GrainWeight 0.025 g: assumed, 20 g is then 800 grains; it agrees with the
//     scatter of 100 and 790 grains printed in [GIPSA-SAMPLING].
//   - HuskedWeight 0.020 g: GrainWeight less the fifth that is husk, [IRRI-MILL].
//   - SpeckWeight 0.010 g: assumed. An empty husk is 0.005 g by [IRRI-MILL];
//     straw and weed seed weigh more.
//   - StoneWeight 0.050 g: assumed, a grain-sized stone of twice a grain's weight.
//   - LabPortion 100 g: the portion for foreign matter of [IRRI-PADDYQ].
//   - LabCount 100: the count for cracked grains of [IRRI-PADDYQ].
//   - YieldDeviation 0.53: the repeatability deviation of the worst of four
//     rices, [ISO-17301 Annex D].
//   - BagDeviation 0.21: assumed. Bags that differ by 0.7 of their mean, six of
//     twelve of them speared, are 0.20.
func DefaultCertainty() Certainty {
	return Certainty{
		MeterRepeatability: 0.25,
		MeterDoubt:         1.13,
		ScaleStep:          0.01,
		GrainWeight:        0.025,
		HuskedWeight:       0.020,
		SpeckWeight:        0.010,
		StoneWeight:        0.050,
		LabPortion:         100,
		LabCount:           100,
		YieldDeviation:     0.53,
		BagDeviation:       0.21,
	}
}

// ErrCertainty is wrapped by the error of Certainty.Validate.
var ErrCertainty = errors.New("grading: certainty")

// Validate refuses impossible values: a negative weight, step or deviation.
func (c Certainty) Validate() error {
	for _, f := range c.named() {
		if !(*f.value >= 0) || *f.value > 1e6 {
			return fmt.Errorf("%w: %q is %v, must be 0 (the default) or more", ErrCertainty, f.name, *f.value)
		}
	}
	for f, u := range c.Usual {
		if !(u.Mean > 0 && u.Deviation > 0 && u.Mean < 100) {
			return fmt.Errorf("%w: %q is usually %v, deviation %v, must be over 0 and under 100", ErrCertainty, f, u.Mean, u.Deviation)
		}
	}
	return nil
}

type namedSetting struct {
	name  string
	value *float64
}

func (c *Certainty) named() []namedSetting {
	return []namedSetting{
		{"meter_repeatability", &c.MeterRepeatability}, {"meter_doubt", &c.MeterDoubt},
		{"scale_step", &c.ScaleStep}, {"grain_weight", &c.GrainWeight},
		{"husked_weight", &c.HuskedWeight}, {"speck_weight", &c.SpeckWeight},
		{"stone_weight", &c.StoneWeight}, {"lab_portion", &c.LabPortion},
		{"lab_count", &c.LabCount}, {"yield_deviation", &c.YieldDeviation},
		{"bag_deviation", &c.BagDeviation},
	}
}

// OrDefault returns c with every zero field filled in from DefaultCertainty.
func (c Certainty) OrDefault() Certainty {
	d := DefaultCertainty()
	for _, p := range [...]struct{ set, def *float64 }{
		{&c.MeterRepeatability, &d.MeterRepeatability}, {&c.MeterDoubt, &d.MeterDoubt}, {&c.ScaleStep, &d.ScaleStep},
		{&c.GrainWeight, &d.GrainWeight}, {&c.HuskedWeight, &d.HuskedWeight},
		{&c.SpeckWeight, &d.SpeckWeight}, {&c.StoneWeight, &d.StoneWeight},
		{&c.LabPortion, &d.LabPortion}, {&c.LabCount, &d.LabCount},
		{&c.YieldDeviation, &d.YieldDeviation}, {&c.BagDeviation, &d.BagDeviation},
	} {
		if *p.set == 0 {
			*p.set = *p.def
		}
	}
	return c
}

// speck is the weight of one particle of what a weight field holds, g.
func (c *Certainty) speck(f grading.Field) float64 {
	switch f {
	case grading.Chaff:
		return c.SpeckWeight
	case grading.Stones:
		return c.StoneWeight
	case grading.ImmatureWeight, grading.BrokenWeight, grading.BrownWeight:
		return c.HuskedWeight
	}
	return c.GrainWeight
}
