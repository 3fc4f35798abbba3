package advice

import "threshline/grading"

// FieldVerdict is the result of a test without a meter. There is no verdict
// "dry enough": by-eye methods are not accurate enough for that ([IRRI-MILLQ]).
type FieldVerdict string

// The verdicts.
const (
	TooWet   FieldVerdict = "too wet"    // dry more
	NotProof FieldVerdict = "not proven" // may still be too wet: use a meter
)

// FieldTest is the outcome of a test without a meter.
type FieldTest struct {
	Verdict FieldVerdict
	// About is the moisture the sign stands for, % wet basis; 0 when the sign
	// stands for none. AtLeast says that it is a lower bound.
	About   grading.Decimal
	AtLeast bool
	Source  string
}

// Bite is what a husked grain does between the teeth.
type Bite string

// The signs, wet to dry.
const (
	Crushes       Bite = "crushes"        // soft, no crack
	CracksDull    Bite = "cracks dull"    // cracks without a sound
	CracksClick   Bite = "cracks click"   // cracks with a click
	CracksBrittle Bite = "cracks brittle" // hard, breaks to pieces: no moisture is published for it
)

// Sign judges a bitten grain: about 20 %, 18 % and 15 %, so that even the
// click is not yet 14. Source: [RAB-RICE]. Any other sign proves nothing.
func (b Bite) Sign() FieldTest {
	about := map[Bite]grading.Decimal{Crushes: 20, CracksDull: 18, CracksClick: 15}[b]
	if about == 0 {
		return FieldTest{Verdict: NotProof, Source: "[RAB-RICE]"}
	}
	return FieldTest{Verdict: TooWet, About: about * grading.One, Source: "[RAB-RICE]"}
}

// The salt test's amounts: shake 160 g of grain with 8 g of dry salt (5 %) in a
// dry jar for a minute and a half, and let it settle. Source: [AFAG-2007], for
// maize: nobody has published a check on paddy.
const (
	SaltTestGrain = 160 * grading.One // g
	SaltTestSalt  = 8 * grading.One   // g
)

// SaltTest judges the jar: salt that clings to the wall stands for over 15 %. A
// clean wall proves nothing, because other texts put the limit anywhere from
// 13 to 15 %. Source: [AFAG-2007].
func SaltTest(clings bool) FieldTest {
	if !clings {
		return FieldTest{Verdict: NotProof, Source: "[AFAG-2007]"}
	}
	return FieldTest{Verdict: TooWet, About: 15 * grading.One, AtLeast: true, Source: "[AFAG-2007]"}
}
