package advice

import (
	"cmp"

	"threshline/grading"
)

// Own are the figures without a source on which the choice of a remedy depends
// most often ([ASSUMED-ADVICE]). A programme that knows its own sets them here;
// a zero takes ours.
type Own struct {
	// WorthSteps, WorthShare and WorthMeasuring are as the constants of these names.
	WorthSteps, WorthShare, WorthMeasuring float64
	// MostInSun is the largest lot that is spread in the sun, kg.
	MostInSun float64
	// Work is the work that a remedy takes.
	Work map[RemedyID]Work
}

// WorkOf is the work that a remedy takes.
func (s *Settings) WorkOf(rem *Remedy) Work {
	if w, ok := s.Own.Work[rem.ID]; ok {
		return w
	}
	return rem.Work
}

// Costs are the work on so many lots of so much weight together, in hours, and what
// is paid besides, in a district, "" for anywhere; known is false where a price is not.
func (s *Settings) Costs(rem *Remedy, lots int, kg grading.Decimal, district string) (hours, fee float64, known bool) {
	work := s.WorkOf(rem)
	hours = work.Fixed*float64(lots) + work.PerTonne*kg.Float()/1000
	switch {
	case !rem.Paid:
		return hours, 0, true
	case rem.Sown:
		fee, known = s.Seed.For(kg)
		return hours, fee, known
	}
	tariff, known := s.Tariff(cmp.Or(rem.PaidAs, rem.ID), district)
	return hours, tariff.Fixed.Float()*float64(lots) + tariff.PerKG.Float()*kg.Float(), known
}

// Wages are what hours of work cost, where a day is worth a wage.
func (s *Settings) Wages(hours float64) float64 { return hours / workDay * s.DayWage.Float() }

// Largest is the largest lot that a remedy is sensible for, kg; 0 any.
func (s *Settings) Largest(rem *Remedy) float64 {
	if rem.InSun && s.Own.MostInSun > 0 {
		return s.Own.MostInSun
	}
	return rem.LargestKG
}

// Worth is the least gain that is worth work, in grade steps and as a share of a
// lot's money, and the least of measuring again in grade steps.
func (s *Settings) Worth() (steps, share, measuring float64) {
	return or(s.Own.WorthSteps, WorthSteps), or(s.Own.WorthShare, WorthShare), or(s.Own.WorthMeasuring, WorthMeasuring)
}

func or(told, ours float64) float64 {
	if told > 0 {
		return told
	}
	return ours
}

// Turn is an assumed figure that decides the choice for a lot.
type Turn struct {
	Figure string  // its name, as a key of a programme; of work the remedy's
	Work   bool    // it is the work of a remedy
	By     float64 // the factor with which another remedy is chosen: a half, or two
	Best   RemedyID
}

// Turns lists the assumed figures that decide the choice for the lot: with half
// or double the figure another remedy would be chosen. It tries only those that
// a programme can set.
func Turns(c Case) (turns []Turn) {
	var one Adviser
	best := one.Advise(&c).Best.Remedy
	for _, f := range figures {
		for _, by := range [...]float64{0.5, 2} {
			with := c
			f.scale(&with.Settings, by)
			if got := one.Advise(&with).Best.Remedy; got != best {
				turns = append(turns, Turn{f.name, f.work, by, got})
			}
		}
	}
	return turns
}

// figure is one that a programme can set.
type figure struct {
	name  string
	work  bool
	scale func(s *Settings, by float64)
}

var figures = func() []figure {
	list := []figure{
		{name: "worth_steps", scale: func(s *Settings, by float64) { w, _, _ := s.Worth(); s.Own.WorthSteps = w * by }},
		{name: "worth_percent", scale: func(s *Settings, by float64) { _, w, _ := s.Worth(); s.Own.WorthShare = w * by }},
		{name: "worth_measuring", scale: func(s *Settings, by float64) { _, _, w := s.Worth(); s.Own.WorthMeasuring = w * by }},
		{name: "most_in_sun_kg", scale: func(s *Settings, by float64) { s.Own.MostInSun = s.Largest(RemedyOf(DrySun)) * by }},
	}
	for i := range table {
		if rem := &table[i]; rem.Work.Trust == Assumed {
			list = append(list, figure{string(rem.ID), true, rem.scaleWork})
		}
	}
	return list
}()

func (r *Remedy) scaleWork(s *Settings, by float64) {
	w := s.WorkOf(r)
	w.Fixed, w.PerTonne = w.Fixed*by, w.PerTonne*by
	works := map[RemedyID]Work{r.ID: w}
	for id, other := range s.Own.Work {
		if id != r.ID {
			works[id] = other
		}
	}
	s.Own.Work = works
}
