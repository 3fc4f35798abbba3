package ledger

import (
	"cmp"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/ledger/figure"
)

// WhatIf is what the season would look like if one remedy were done everywhere: to
// every lot on which it can act, once, at the middle of its assumed effect, whether it
// helps that lot or not. Lots are graded by their filed readings and the table of that
// time, by grade alone: chances are left out, so a lot near a limit counts wholly on
// one side.
type WhatIf struct {
	// Lots were graded again. Refused were not: their table is not known, or it
	// refuses the readings.
	Lots, Refused int
	// Grades are the grades of the tables that occur, best first; the lists of
	// counts below are parallel to it.
	Grades []GradeName
	Before Standing
	// ThisLot are the remedies for lots at hand, Season those for the next
	// season, best first: by LiftedNet where prices are known, else by grade steps
	// gained; then the cheaper, the sooner.
	ThisLot, Season []Outcome
	// ThisLotTwo and SeasonTwo are the best remedy and the one that adds most to
	// it; nil when nothing adds to the best.
	ThisLotTwo, SeasonTwo *Outcome
	// Districts are the same by district, by number of lots. Their pairs are
	// those of the whole.
	Districts []DistrictWhatIf
	// InMoney says that the order is by money.
	InMoney bool
}

// DistrictWhatIf is a what-if's part in one district.
type DistrictWhatIf struct {
	District              string
	Lots, Refused         int
	Before                Standing
	ThisLot, Season       []Outcome
	ThisLotTwo, SeasonTwo *Outcome
}

// GradeName is one grade of one table.
type GradeName struct {
	Standard, Edition string
	Procedure         int // of the readings: see session.Procedure
	Label             grading.GradeLabel
	Rank, Of          int
}

// Standing is how lots stand.
type Standing struct {
	Grades        []int // parallel to WhatIf.Grades
	InGrade, Best figure.Share
	KG            grading.Decimal // of the lots whose weight is known
	// Money is what the Priced lots fetch at the programme's prices with the buyer's
	// deductions. A lot is priced if its weight is known and every grade of its table
	// has a price; a lot out of grade only if that has a price too.
	Money  grading.Decimal
	Priced int
}

// Outcome is a remedy, or two, done everywhere.
type Outcome struct {
	Remedies []advice.RemedyID
	When     advice.When
	// Done is on how many lots it could act. Lifted and Lowered are how many then have
	// a better or a worse grade: what remains of other matter weighs more in a lighter
	// lot.
	Done, Lifted, Lowered int
	After                 Standing
	// Steps is by how many grades the lots rose together, falls subtracted.
	Steps int
	// KGLost left the bags: water, chaff, stones.
	KGLost grading.Decimal
	// MoneyGained is After.Money less that before, without the cost.
	MoneyGained grading.Decimal
	// Hours of work and Cost of work and machines, in money, for the lots of
	// known weight done. CostUnknown: a machine is paid for that has no tariff.
	Hours       float64
	Cost        float64
	CostUnknown bool
	// Where it lifts the grade, and only there, it would lose and gain, and take:
	LiftedKGLost, LiftedMoneyGained grading.Decimal
	LiftedHours, LiftedCost         float64
}

// Net is what it gains less what it costs, done everywhere; before the machine's
// fee where CostUnknown.
func (o *Outcome) Net() float64 { return o.MoneyGained.Float() - o.Cost }

// LiftedNet is the same where it lifts the grade, and only there.
func (o *Outcome) LiftedNet() float64 { return o.LiftedMoneyGained.Float() - o.LiftedCost }

// Option finds a remedy's outcome; nil when it is not one that changes lots.
func (w *WhatIf) Option(id advice.RemedyID) *Outcome {
	for _, list := range [][]Outcome{w.ThisLot, w.Season} {
		for i := range list {
			if list[i].Remedies[0] == id {
				return &list[i]
			}
		}
	}
	return nil
}

// WhatIf grades the lots chosen by f again, as they would be after each remedy.
// Unless f asks for a kind of check, each lot counts once, by its last check.
// The first call grades, which takes some seconds for a million lots; what it
// finds is kept.
func (v *View) WhatIf(f Filter) WhatIf {
	f.Kind = cmp.Or(f.Kind, LastCheck)
	f, _ = v.alike(f)
	r := v.newReckoning(&f)
	r.count()
	return r.whatIf()
}
