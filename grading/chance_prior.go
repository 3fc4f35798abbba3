package grading

// Usual is what the lots of a place and season usually hold: the mean of a
// field over lots and its deviation from lot to lot, in percent of the field's
// whole (moisture: % wet basis). Both must be over 0.
type Usual struct{ Mean, Deviation float64 }

// ignorance is what is added to the faulty, and for counts to the sound, when
// nothing is known of the lots: a third of a kernel or speck. It takes no side:
// a reading right at a limit then leaves even odds, where a half or a whole
// would lean toward the fault. Source: assumed; tests show both properties.
const ignorance = 1.0 / 3

// betaPrior is the belief in the share of kernels with any of the faults
// before the pan is counted, as added kernels: faulty and sound.
func (c *Certainty) betaPrior(fields []Field) (faulty, sound float64) {
	mean, variance := 0.0, 0.0
	for _, f := range fields {
		u, ok := c.Usual[f]
		if !ok {
			return ignorance, ignorance
		}
		mean += u.Mean / 100
		variance += u.Deviation * u.Deviation / 1e4
	}
	weight := mean*(1-mean)/variance - 1
	if !(weight > 0) || mean >= 1 {
		return ignorance, ignorance
	}
	return mean * weight, (1 - mean) * weight
}

// gammaPrior is the belief in the number of particles in a sample before it is
// sieved: particles added, and samples added, unit being what one particle is
// in percent.
func (c *Certainty) gammaPrior(f Field, unit float64) (particles, samples float64) {
	u, ok := c.Usual[f]
	if !ok {
		return ignorance, 0
	}
	shape := u.Mean * u.Mean / (u.Deviation * u.Deviation)
	return shape, shape * unit / u.Mean
}

// normalPrior shifts a mean of that variance toward what is usual.
func (c *Certainty) normalPrior(f Field, mean, variance float64) (float64, float64) {
	u, ok := c.Usual[f]
	if !ok || variance <= 0 {
		return mean, variance
	}
	known, seen := 1/(u.Deviation*u.Deviation), 1/variance
	return (u.Mean*known + mean*seen) / (known + seen), 1 / (known + seen)
}
