package advice

import (
	"errors"
	"maps"

	g "threshline/grading"
	"threshline/grading/chance"
)

// advisor weighs the remedies for one case.
type advisor struct {
	weigher
	room
}

// weigher says what a lot would fetch, or which grade it would have, once something
// is done to it.
type weigher struct {
	kit
	lot
	trial   g.Readings // of the lot as it would be that is graded
	chances []float64  // backs the outlooks of one case
	spare   []float64  // backs mended
}

// kit is what stays from case to case: the standard and the tools.
type kit struct {
	s        *g.Standard
	assessor *chance.Assessor // for lots as they would be
	meter    g.Decimal        // as in Settings, like scale and usual
	scale    g.Decimal
	usual    map[g.Field]chance.Usual
	made     []makeup // parallel to s.Parameters
}

// lot is the case at hand.
type lot struct {
	c         *Case
	r         *g.Readings
	res       *g.Result
	now       outlook
	market    market
	money     float64 // what it fetches as it is
	moisture  g.Decimal
	hasWater  bool
	target    g.Decimal // to dry to
	hasTarget bool
	dry       struct { // the lot dried to target; a factor of 0 before anybody asked
		readings g.Readings
		factor   float64
		applies  bool
	}
	chosen weighed // the set that was chosen; of none where nothing is done to the lot

	// brief says of which remedies no more has to be known than that they are not worth
	// doing; nil of none.
	brief func(*Remedy) bool

	worthSteps, worthShare, worthMeasuring float64 // see Settings.Worth
}

// room is memory that is used again for each case.
type room struct {
	options []Option // parallel to table
	order   []ranking
	ranked  []Option   // options, best first
	list    []weighed  // backs mends
	few     []weighed  // backs pool
	coming  []seasonal // backs seasons
}

// Adviser advises on one lot after another, as Advise does, but works out only
// what is different from the lot before. It is for long lists by one standard
// and one kit. The zero value is ready. It is for one goroutine at a time.
type Adviser struct{ last advisor }

// ErrNoStandard says that a case names no standard.
var ErrNoStandard = errors.New("advice: the case has no standard")

// Assess grades the case's readings into its Result, as grading.Assess does,
// and spares Advise a part of its work. What an earlier Result of the adviser
// holds is overwritten. Errors are those of grading.Assess, and ErrNoStandard.
func (v *Adviser) Assess(c *Case) error {
	if err := v.last.adopt(c.Standard, &c.Settings); err != nil {
		return err
	}
	return v.last.assessor.Assess(&c.Readings, &c.Result)
}

// Advise is the function Advise. What the advice holds is overwritten by the
// next; the case is only read.
func (v *Adviser) Advise(c *Case) Advice {
	a := &v.last
	if !a.begin(c) {
		return Advice{}
	}
	return a.advise()
}

// weighAll is Advise that only leaves every remedy's figures and reason in its option;
// of those that brief names and that are not worth doing only that.
func (v *Adviser) weighAll(c *Case, brief func(*Remedy) bool) Advice {
	if !v.last.begin(c) {
		return Advice{}
	}
	v.last.brief = brief
	return v.last.decide()
}

// ofAll names all remedies.
func ofAll(*Remedy) bool { return true }

// Best is Advise without the remedies that come besides or lost: only Best and
// its set. It is for long lists that say nothing more about a lot.
func (v *Adviser) Best(c *Case) Advice {
	a := &v.last
	if !a.begin(c) {
		return Advice{}
	}
	a.brief = ofAll
	return a.choice()
}

// begin turns to another case. ok is false when there is nothing to advise on:
// no standard, or readings that cannot be.
func (a *advisor) begin(c *Case) (ok bool) {
	if a.adopt(c.Standard, &c.Settings) != nil {
		return false
	}
	a.lot = lot{c: c, r: &c.Readings, res: &c.Result}
	a.worthSteps, a.worthShare, a.worthMeasuring = c.Settings.Worth()
	a.chances = a.chances[:0]
	now, err := a.assessor.Like(a.r)
	if err != nil {
		return false
	}
	a.now = a.outlook(&now)
	if c.Result.StandardID == "" || !assessed(&c.Result) {
		res, err := chance.Assess(c.Standard, c.Readings, c.Settings.Certainty())
		if err != nil {
			return false
		}
		a.res = &res
	}
	a.moisture, a.hasWater = MoistureOf(a.s, a.r)
	a.target, a.hasTarget = dryTarget(a.s, a.res.Class, c.Use, c.KeepDays)
	a.market = marketOf(c, a.res.Rank)
	if a.market.known {
		a.money = a.market.money(&a.now, 1, a.moisture)
	}
	return true
}

// adopt prepares for a standard and a kit, unless they are those of the last
// case. Errors are ErrNoStandard and those of grading.NewAssessor.
func (a *advisor) adopt(s *g.Standard, with *Settings) error {
	switch {
	case s == nil:
		return ErrNoStandard
	case a.s == s && a.meter == with.MeterRepeatability && a.scale == with.ScaleStep && maps.Equal(a.usual, with.Usual):
		return nil
	}
	assessor, err := chance.NewAssessor(s, with.Certainty())
	if err != nil {
		return err
	}
	*a = advisor{
		weigher: weigher{
			kit: kit{
				s: s, assessor: assessor, meter: with.MeterRepeatability, scale: with.ScaleStep, usual: with.Usual,
				made: make([]makeup, len(s.Parameters)),
			},
			spare: make([]float64, len(s.Grades)),
		},
		room: room{
			options: make([]Option, len(table)),
			ranked:  make([]Option, 0, len(table)), order: make([]ranking, 0, len(table)),
		},
	}
	for i := range s.Parameters {
		a.made[i] = madeOf(s, &s.Parameters[i])
	}
	return nil
}

// keepChances copies chances, for as long as the case lasts.
func (a *weigher) keepChances(upTo []float64) []float64 {
	from := len(a.chances)
	a.chances = append(a.chances, upTo...)
	return a.chances[from:len(a.chances):len(a.chances)]
}
