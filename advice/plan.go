package advice

import "threshline/grading"

// DryingPlan is how to dry one lot, by hand and in numbers. There is no rate in
// it: nobody has published one for the sun that holds from place to place.
type DryingPlan struct {
	From, Target grading.Decimal // % wet basis
	// FirstTo is where the danger of the first days ends, when From is above it;
	// else Target. Source: MicrobesAbove.
	FirstTo grading.Decimal
	// KG and KGAfter are the lot's weight now and at Target; 0 when unknown.
	KG, KGAfter grading.Decimal
	// LayerMin and LayerMax are how thick to spread, cm. Source: [IRRI-SUN].
	LayerMin, LayerMax int
	// TurnMinutes is how often to turn. Source: [IRRI-SUN], [KALRO-DRY].
	TurnMinutes int
	// CoverAbove is the temperature in the grain, degrees Celsius, at which to
	// shade or cover it: 50 for food ([IRRI-SUN]), 42 for seed ([VN-FACT]).
	CoverAbove int
	// AirMax is the hottest air of a machine dryer, degrees Celsius: 43 for seed
	// ([RKMP-DRYING]), 45 for food on a fixed bed ([BRADBROOK-BED]).
	AirMax int
	// HotAirHelps says that From is over 18 %: below it hot air only heats the
	// grain. Source: [RKMP-DRYING].
	HotAirHelps bool
	// DaysMin and DaysMax are how many sunny days it takes as a rule, a range and
	// no promise: 2 to 3 from fresh paddy to 14 ([RAB-RICE], [KALRO-DRY]); one day
	// less from 18 or under and from 14 or under, and one more for each step to 12
	// and to 9 that is still to be taken, assumed ([ASSUMED-ADVICE]).
	DaysMin, DaysMax int
	// LargestDrop is how many percentage points to take off in one pass of a
	// machine dryer before the grain rests; more costs head rice even with the
	// rest. Source: [RICE-PASS], 4 to 5, the careful end taken.
	LargestDrop int
	// RestHours is that rest, which can halve the cracked grains. Source:
	// [ASABE-TEMPER].
	RestHours int
	// Rests is how many rests lie between From and Target in a machine dryer.
	Rests int
	// CountCracksAfter is how many hours after drying cracks can be counted;
	// most show only later. Source: [IJBSE-CRACK].
	CountCracksAfter int
	Cautions         []CautionID
}

// PlanDrying makes the plan for kg (0 unknown) of paddy at from, % wet basis, to
// be dried to target. Errors are those of Dry: a lot that is dry already, or
// drier, is refused with ErrWetter.
func PlanDrying(kg, from, target grading.Decimal, use Use) (DryingPlan, error) {
	after, err := Dry(kg, from, target)
	if err == nil && from == target {
		err = checkDrying(kg, from, target+1)
	}
	if err != nil {
		return DryingPlan{}, err
	}
	p := DryingPlan{
		From: from, Target: target, FirstTo: target, KG: kg, KGAfter: after,
		LayerMin: 2, LayerMax: 4, TurnMinutes: 30, CoverAbove: 50, AirMax: 45, HotAirHelps: from > MicrobesAbove,
		LargestDrop: 4, RestHours: 4, CountCracksAfter: 48,
		Cautions: []CautionID{NotOnRoad, RainCover, HotGrain, DoNotMixWet, CountLater},
	}
	if use == Seed {
		p.CoverAbove, p.AirMax = 42, 43
	}
	if from > MicrobesAbove && target < MicrobesAbove {
		p.FirstTo = MicrobesAbove
	}
	p.DaysMin, p.DaysMax = sunnyDays(from, target)
	steps := (from - target + grading.Decimal(p.LargestDrop)*grading.One - 1) / (grading.Decimal(p.LargestDrop) * grading.One)
	p.Rests = int(steps) - 1
	return p, nil
}

// sunnyDays is the range of DryingPlan.
func sunnyDays(from, target grading.Decimal) (least, most int) {
	switch {
	case from > MicrobesAbove:
		least, most = 1, 3 // [SEUSL-DRY]: 5 to 11 hours of sun from there to under 14
	case from > KeepTarget(Food, 0):
		least, most = 1, 2
	default:
		least, most = 0, 1
	}
	for _, drier := range []grading.Decimal{SeedMoisture, OverAYearMoisture} {
		if target <= drier && from > drier {
			least, most = least+1, most+1
		}
	}
	return max(least, 1), max(most, 2)
}

// Worth is what drying does to the money of a lot.
type Worth struct {
	// AsIs is what the lot fetches undried, after the buyer's deductions; Taken
	// is false when the buyer does not take it so wet.
	AsIs  grading.Decimal
	Taken bool
	// Dried is what it fetches at the target.
	Dried grading.Decimal
	// Fair is what the lot would fetch undried at a price for its dry matter.
	// Below AsIs, the seller gains by selling wet; above it, the deduction takes
	// more than the water is worth.
	Fair grading.Decimal
	// OverDried is the money lost when the lot is dried to target but the buyer
	// would have accepted moisture up to allowed.
	OverDried grading.Decimal
}

// WorthOf compares selling kg now at from with selling it dried to target, at
// price per kg for paddy of allowed moisture, by a buyer's deductions. Errors
// are those of Dry and FairPrice.
func WorthOf(kg, from, target, allowed, price grading.Decimal, bands []Deduction) (Worth, error) {
	dry, err := Dry(kg, from, target)
	if err != nil {
		return Worth{}, err
	}
	fair, err := FairPrice(price, from, allowed)
	if err != nil {
		return Worth{}, err
	}
	var w Worth
	var paid grading.Decimal
	paid, w.Taken = Deduct(price, from, bands)
	w.AsIs = mulDiv(kg, paid, grading.One)
	w.Fair = mulDiv(kg, fair, grading.One)
	w.Dried = mulDiv(dry, price, grading.One)
	w.OverDried, err = GivenAway(dry, target, allowed, price)
	return w, err
}
