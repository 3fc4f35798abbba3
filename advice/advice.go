// Package advice decides what is most worth doing about a graded lot: Advise
// grades the lot again as it would be after each remedy of its table, and after
// sets of two or three, and picks by expected gain within an order of precedence.
//
// Beside it stand the arithmetic of drying and keeping, prices on dry weight, and
// the comparison of two checks.
//
// It returns identifiers and numbers, never words. It never claims to mend what
// lies inside the husk (red, other variety, cracked, discoloured, bored,
// immature), never computes wetting as drying, and never names a fumigant's
// dose. What its numbers rest on is said beside each: a source, a secondary
// text, or our own assumption.
package advice

import (
	"time"

	"threshline/grading"
	"threshline/grading/chance"
)

// RemedyID names a remedy, such as "winnow". The words for it are in package
// wording under the key "remedy.<id>".
type RemedyID string

// CautionID names a caution, such as "dust". The words are under "caution.<id>".
type CautionID string

// When says to what a remedy applies.
type When string

// To what a remedy applies.
const (
	ThisLot    When = "this lot"
	NextSeason When = "next season"
)

// Settings are what the programme says about money and place. The zero value
// ranks by grade steps.
type Settings struct {
	// Prices is money per kg by grade label; empty ranks by grade steps.
	Prices map[grading.GradeLabel]grading.Decimal
	// OutPrice is what an out-of-grade lot fetches per kg; 0 unknown.
	OutPrice grading.Decimal
	// MeterRepeatability is the standard deviation of one moisture reading,
	// percentage points; 0 uses grading's default.
	MeterRepeatability grading.Decimal
	// ScaleStep is the kit's smallest step, g; 0 uses grading's default.
	ScaleStep grading.Decimal
	// Usual is what lots here usually hold, learnt from the programme's own checks;
	// empty leans on nothing. It is never changed once it is set.
	Usual map[grading.Field]chance.Usual
	// DayWage is the money that a day of work costs; 0 counts work as free.
	DayWage grading.Decimal
	// Deductions are the buyer's stepped moisture deductions, if any.
	Deductions []Deduction
	// Climate is the place's mean temperature and humidity month by month.
	Climate Climate
	// Tariffs are the prices of other people's machines and of what has to be
	// bought, by remedy. Without a tariff, a paid remedy is weighed without its
	// fee, and the advice says so.
	Tariffs map[RemedyID]Tariff
	// Local are the tariffs of one district, by its name. They come before the
	// general ones.
	Local map[string]map[RemedyID]Tariff
	// Seed is what certified seed costs; without it its price is not known.
	Seed SeedCost
	// Own are the programme's own figures in place of assumed ones.
	Own Own
}

// Tariff is the price of somebody else's machine: Fixed per lot and PerKG, in
// the programme's currency. PerDay is what it takes in a day, kg; 0 unknown.
type Tariff struct{ Fixed, PerKG, PerDay grading.Decimal }

// Tariff is what a remedy costs in a district, "" for anywhere.
func (s *Settings) Tariff(id RemedyID, district string) (Tariff, bool) {
	if t, ok := s.Local[district][id]; ok {
		return t, true
	}
	t, ok := s.Tariffs[id]
	return t, ok
}

// SeedCost is what sowing a hectare with certified seed costs: Price per kg, and
// PerHa kg of it; YieldPerHa is the kg of paddy that a hectare gives.
type SeedCost struct{ Price, PerHa, YieldPerHa grading.Decimal }

// For is what the seed costs for a lot as large as kg; false where that is not
// known.
func (c SeedCost) For(kg grading.Decimal) (float64, bool) {
	if c.Price <= 0 || c.PerHa <= 0 || c.YieldPerHa <= 0 || kg <= 0 {
		return 0, false
	}
	return kg.Float() / c.YieldPerHa.Float() * c.PerHa.Float() * c.Price.Float(), true
}

// Deduction cuts the price by Cut percent when moisture lies over Over and not
// over UpTo, both % wet basis. Source of the form: [TN-2022].
type Deduction struct{ Over, UpTo, Cut grading.Decimal }

// Climate is twelve months, January first; a zero month is unknown.
type Climate [12]Month

// Month is a month's mean air.
type Month struct {
	Celsius  float64
	Humidity float64 // relative, 0 to 1
}

// Case is a lot to be advised on.
type Case struct {
	Standard *grading.Standard
	Readings grading.Readings
	Result   grading.Result
	KG       grading.Decimal // of the lot; 0 unknown
	District string          // where it lies, for the tariffs there
	At       time.Time       // when it was checked, for due dates and the season
	KeepDays int             // how long it is to be kept; 0 unknown
	Use      Use             // what it is kept for; the zero value is food
	// History is what the grower's last checks found, newest first, at most three.
	History  []Past
	Settings Settings
}

// Past is what an earlier check of the same grower found.
type Past struct {
	At       time.Time
	Deciding []grading.ParameterID
	Remedy   RemedyID
	Rank, Of int
}

// Advice is the answer: the one remedy most worth doing, and all that were
// considered, best first, with the reason each lost.
type Advice struct {
	Best       Option
	Steps      int // how many remedies the best set holds; "step 1 of Steps"
	Set        []RemedyID
	SetBecomes grading.GradeLabel
	SetChance  float64 // the chance of SetBecomes or better
	SetGain    float64 // expected gain of the whole set, net of its cost, in Best's unit
	// SetHours, SetCost and SetKGLost are of the whole set; SetCostUnknown says
	// that a fee is left out of SetCost and SetGain because it is not known.
	SetHours, SetCost, SetKGLost float64
	SetCostUnknown               bool
	// Incomplete says that something was not measured, so that the lot becomes
	// SetBecomes at best.
	Incomplete bool
	Season     RemedyID // what to do next season besides; "" none
	// Meanwhile is what to do with this lot when Best acts on the next season
	// only: sell it as it is, keep it apart; "" none.
	Meanwhile  RemedyID
	Considered []Option
}

// Option is one remedy weighed for one lot.
type Option struct {
	Remedy  RemedyID
	When    When
	Band    Band
	Reason  ReasonID // why it was chosen, or why it lost
	Because Because
	// Becomes is the grade of the lot as it would be after; BecomesChance its chance.
	Becomes       grading.GradeLabel
	BecomesRank   int
	BecomesChance float64
	// Gain is expected money where prices are known, else expected grade steps.
	Gain    float64
	InMoney bool
	KGLost  float64 // out of the bag: water, chaff, stones; 0 when the lot's weight is unknown
	Cost    float64 // money, of the work and the tariff
	// CostUnknown says that something has to be paid for whose price is not known:
	// Cost and Gain leave it out.
	CostUnknown bool
	Days        int // that a machine is busy with the lot; 0 unknown
	Passes      int // how often to do it, at least 1
	Hours       float64
	// More is the further measurement that settles most for its minutes. It is set
	// for the advice to measure again, if a reasonable amount of work would settle
	// the grade; else nil.
	More      *grading.Settle
	DueDays   int             // by when, days from the check; 0 today, -1 none
	AgainDays int             // when to look at the lot again, days from the check; 0 none
	Target    grading.Decimal // what to bring the parameter to, where that makes sense
	Cautions  []CautionID
	Source    string // source tag, or "common practice, no source"
}

// ReasonID says in a word why an option was chosen or lost.
type ReasonID string

// Because is what the option mends: the parameter, its value and the limit.
type Because struct {
	Parameter grading.ParameterID
	Value     grading.Decimal
	Limit     grading.Decimal
	HasLimit  bool
	Gate      string // the gate that holds, if that is the cause
}
