package advice

import "threshline/grading"

// SeedClass is a class of certified seed, purest first.
type SeedClass string

// The classes of the Philippine scheme. Source: [IRRI-SEED].
const (
	BreederSeed    SeedClass = "breeder"
	FoundationSeed SeedClass = "foundation"
	RegisteredSeed SeedClass = "registered"
	CertifiedSeed  SeedClass = "certified"
)

// SeedSample is what was found in a seed lot.
type SeedSample struct {
	PurePercent       grading.Decimal // % by weight
	OtherVarieties    int             // grains in 500 g
	RedRice           int             // grains in 500 g
	WeedsPercent      grading.Decimal // weed and other crop seed, % by weight
	InertPercent      grading.Decimal // % by weight
	GerminatesPercent grading.Decimal // % by count
	Moisture          grading.Decimal // % wet basis
}

// SeedFault names what keeps a sample out of a class.
type SeedFault string

// The faults.
const (
	NotPure        SeedFault = "pure"
	OtherVarieties SeedFault = "other varieties"
	RedInSeed      SeedFault = "red rice"
	WeedSeed       SeedFault = "weeds"
	InertMatter    SeedFault = "inert"
	Germination    SeedFault = "germination"
	TooMoist       SeedFault = "moisture"
)

// SeedClasses lists the classes of the scheme, purest first.
func SeedClasses() []SeedClass {
	return []SeedClass{BreederSeed, FoundationSeed, RegisteredSeed, CertifiedSeed}
}

// Limits are the class's: the least for what is pure and what germinates, the
// most for all else, all inclusive. ok is false for a class that is not of the
// scheme. Source: [IRRI-SEED].
func (c SeedClass) Limits() (limits SeedSample, ok bool) {
	limits, ok = map[SeedClass]SeedSample{
		BreederSeed:    {PurePercent: 98 * grading.One, InertPercent: 2 * grading.One},
		FoundationSeed: {PurePercent: 98 * grading.One, OtherVarieties: 2, InertPercent: 2 * grading.One},
		RegisteredSeed: {PurePercent: 98 * grading.One, OtherVarieties: 5, RedRice: 1, WeedsPercent: grading.One / 20, InertPercent: 2 * grading.One},
		CertifiedSeed:  {PurePercent: 97 * grading.One, OtherVarieties: 10, RedRice: 2, WeedsPercent: grading.One / 10, InertPercent: 3 * grading.One},
	}[c]
	limits.GerminatesPercent, limits.Moisture = 80*grading.One, 14*grading.One
	return limits, ok
}

// Faults lists what keeps the sample out of the class, in the order of the
// scheme's table. A class that is not of the scheme lets nothing pass and reports
// NotPure.
func (c SeedClass) Faults(s SeedSample) []SeedFault {
	l, ok := c.Limits()
	if !ok {
		return []SeedFault{NotPure}
	}
	var faults []SeedFault
	for _, check := range []struct {
		bad   bool
		fault SeedFault
	}{
		{s.PurePercent < l.PurePercent, NotPure},
		{s.OtherVarieties > l.OtherVarieties, OtherVarieties},
		{s.RedRice > l.RedRice, RedInSeed},
		{s.WeedsPercent > l.WeedsPercent, WeedSeed},
		{s.InertPercent > l.InertPercent, InertMatter},
		{s.GerminatesPercent < l.GerminatesPercent, Germination},
		{s.Moisture > l.Moisture, TooMoist},
	} {
		if check.bad {
			faults = append(faults, check.fault)
		}
	}
	return faults
}

// Infested is the rule of live insects: two live weevils; or one and another
// live injurious insect; or five others. Source: [CFR-868 §868.212].
func Infested(weevils, others int) bool {
	return weevils >= 2 || weevils >= 1 && others >= 1 || others >= 5
}
