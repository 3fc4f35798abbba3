package grading

// Meter is a moisture meter as it was known on the day of a check.
type Meter struct {
	// Name is what its people call it; "" when nobody said.
	Name string
	// Bias is how much it reads above the oven, percentage points; negative when
	// it reads lower. It is subtracted from what the meter shows.
	Bias Decimal
	// Doubt is the standard deviation of Bias, percentage points.
	Doubt Decimal
	// Checked says that the meter was put beside an oven, or beside a meter that
	// was. An unchecked meter is not corrected: Bias and Doubt are 0, and the
	// usual error of such meters (Certainty.MeterDoubt) widens the chances.
	Checked bool
}

// MostBias is the greatest bias of a meter, points, in either direction: a
// meter that is further off is broken. Source: assumed; the worst of three in
// the published comparison read 1.7 too high [HAND-METERS].
const MostBias = 5 * One

// together is what readings on two meters, corrected, are taken to be read on.
func (m Meter) together(other Meter) Meter {
	return Meter{Doubt: max(m.Doubt, other.Doubt), Checked: m.Checked && other.Checked}
}
