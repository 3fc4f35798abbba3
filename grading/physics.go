package grading

import "slices"

// DoubtID says what is odd about readings. The words, with what to weigh or
// count again, are in package wording under "doubt.<id>".
type DoubtID string

// The doubts. Those that cannot be block grading; those that are only unlikely
// are to be asked back and may be confirmed.
const (
	MoistureSpread   DoubtID = "moisture_spread"    // repeats far apart
	MoistureRange    DoubtID = "moisture_range"     // outside what a hand meter reads
	SampleSmall      DoubtID = "sample_small"       // kilograms for grams?
	SampleLarge      DoubtID = "sample_large"       // more than one sieves by hand
	DirtHigh         DoubtID = "dirt_high"          // more foreign matter than threshed paddy has
	PartsOverSample  DoubtID = "parts_over_sample"  // chaff and stones over the sample
	CleanOverSample  DoubtID = "clean_over_sample"  // cleaning adds nothing
	BalanceGain      DoubtID = "balance_gain"       // the parts weigh more than the sample
	BalanceLoss      DoubtID = "balance_loss"       // the parts weigh less
	BrownOverClean   DoubtID = "brown_over_clean"   // husking adds nothing
	BrownHigh        DoubtID = "brown_high"         // hardly any husk came off
	BrownLow         DoubtID = "brown_low"          // too little brown rice
	ImmatureOver     DoubtID = "immature_over"      // more than the brown rice
	ImmatureHigh     DoubtID = "immature_high"      // half of the brown rice or more
	CountOver        DoubtID = "count_over"         // more faulty than were counted
	FaultsOver       DoubtID = "faults_over"        // faults together more than were counted
	CountedFew       DoubtID = "counted_few"        // half a pan is no count
	CountedUneven    DoubtID = "counted_uneven"     // over a pan, but no whole pans
	CountedMany      DoubtID = "counted_many"       // more than one counts by hand
	ValuesOverWhole  DoubtID = "values_over_whole"  // shares given of one whole exceed it
	MoistureNotPaddy DoubtID = "moisture_not_paddy" // no paddy is so dry or so wet
)

// DoubtIDs lists every doubt, in working order of what it is about.
func DoubtIDs() []DoubtID {
	return []DoubtID{MoistureNotPaddy, MoistureRange, MoistureSpread, SampleSmall, SampleLarge, PartsOverSample, DirtHigh,
		CleanOverSample, BalanceGain, BalanceLoss, BrownOverClean, BrownHigh, BrownLow, ImmatureOver, ImmatureHigh,
		CountOver, FaultsOver, CountedFew, CountedUneven, CountedMany, ValuesOverWhole}
}

// Doubt is one thing about the readings that is physically impossible or
// unlikely.
type Doubt struct {
	ID DoubtID
	// Fields are the readings that disagree; Again is what to measure again first.
	Fields []Field
	Again  Field
	// Parameters are the direct values at fault, for ValuesOverWhole.
	Parameters []ParameterID
	// Value lies outside Low to High, all in Unit.
	Value, Low, High Decimal
	Unit             DoubtUnit
	// Blocks says that it is impossible, so there is no grade; otherwise it is
	// only unlikely, and the person may confirm it.
	Blocks bool
}

// DoubtUnit is the unit of a doubt's numbers.
type DoubtUnit string

// The units of doubts.
const (
	Grams      DoubtUnit = "g"
	PercentOf  DoubtUnit = "%" // of the whole, or of water
	Points     DoubtUnit = "points"
	GrainCount DoubtUnit = "grains"
)

// Grains are counted by whole pans.
const (
	PanGrains  = 100  // of one pan
	MostGrains = 2000 // the most that anybody is asked to count. Source: assumed
)

// The bounds of what counts as likely.
const (
	// widestSpread is how far moisture readings of one lot may lie apart,
	// percentage points. Source: assumed; at a repeatability of 0.25 three
	// readings exceed it once in a hundred lots.
	widestSpread = One
	// meterLow to meterHigh is what a hand meter reads, % wet basis. Source:
	// common practice, no source.
	meterLow, meterHigh = 8 * One, 35 * One
	// paddyLow to paddyHigh is what paddy can hold, % wet basis. Source:
	// assumed, wide.
	paddyLow, paddyHigh = 4 * One, 50 * One
	// sampleLow to sampleHigh is what is sieved and picked by hand, g. Source:
	// common practice, no source: 20 g is usual.
	sampleLow, sampleHigh = 5 * One, 2000 * One
	// dirtHigh is more than twice the 8 to 10 % that threshed paddy carries,
	// [RKMP-ODISHA]; % of the sample.
	dirtHigh = 20 * One
	// balanceGain and balanceLoss are how much more or less than the sample
	// its parts may weigh, % of it. Source: assumed; dust is lost, nothing is won.
	balanceGain, balanceLoss = One, 3 * One
	// balanceBlock is a gain that no balance explains, %. Source: assumed.
	balanceBlock = 5 * One
	// brownLow to brownHigh is brown rice of clean paddy, %. Published yields
	// are 77.7, 81.2, 81.8 and 82.0 %, and two laboratories may differ by up to
	// 6.06 points, [ISO-17301 Annex D]; hand husking breaks and loses more, so
	// the bounds are wider. Source of the bounds: assumed.
	brownLow, brownHigh = 65 * One, 85 * One
	// immatureHigh is half of the brown rice, %. Source: assumed.
	immatureHigh = 50 * One
	// countedLow is half a pan, countedHigh MostGrains.
	countedLow, countedHigh = 50 * One, MostGrains * One
)

// Doubts lists what speaks against the readings, in working order: first what
// cannot be, of each field, then what is unlikely. The standard may be nil: it
// serves only to see that values given directly do not exceed their whole.
// Readings outside the bounds of Readings.Check are that function's business,
// though those that disagree with another are named here too.
func Doubts(s *Standard, r Readings) []Doubt {
	d := doubter{r: &r}
	d.moisture()
	d.sample()
	d.cleaning()
	d.husking()
	d.counts()
	if s != nil {
		d.values(s)
	}
	return d.found
}

// doubter gathers the doubts about one lot's readings.
type doubter struct {
	r     *Readings
	found []Doubt
}

// check adds a doubt about fields when value lies outside low to high, both inclusive,
// and reports whether it did.
func (d *doubter) check(doubt Doubt, fields ...Field) bool {
	if doubt.Value >= doubt.Low && doubt.Value <= doubt.High {
		return false
	}
	doubt.Fields = slices.Clone(fields)
	d.found = append(d.found, doubt)
	return true
}

// percent is part over whole in %, to four decimals; whole must be over 0.
func percent(part, whole Decimal) Decimal {
	return part.Over(whole).Percent().Round(decimalPlaces)
}
