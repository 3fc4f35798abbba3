package ledger_test

import (
	"math"
	"slices"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

// lotsAs grades each chosen lot as it is and as done would leave it, by
// grading.Grade, and adds up: the what-if once more, without columns, without
// what was found before and without anything kept.
type lotsAs struct {
	lots, refused, done, lifted, lowered, steps int
	grades                                      map[string]int
	kg, kgLost, money, gained, hours, cost      float64
	liftedGained, liftedCost                    float64 // where the grade rises
}

func (s *slow) lotsAs(t *testing.T, f ledger.Filter, settings advice.Settings, district *string, remedies ...advice.RemedyID) lotsAs {
	t.Helper()
	out := lotsAs{grades: map[string]int{}}
	for _, c := range s.chosen(&f) {
		if district != nil && c.Lot.District != *district {
			continue
		}
		at := slices.IndexFunc(s.known, func(k *grading.Standard) bool { return k.ID == c.StandardID && k.Edition == c.Edition })
		if at < 0 {
			out.refused++
			continue
		}
		table := s.known[at]
		was, err := grading.Grade(table, c.Readings)
		if err != nil {
			out.refused++
			continue
		}
		out.lots++
		kg := c.Lot.KG.Float()
		r, factor, any, cost := c.Readings, 1.0, false, 0.0
		for _, id := range remedies {
			rem := advice.RemedyOf(id)
			if rem.LargestKG > 0 && kg > rem.LargestKG {
				continue
			}
			next, part, applies := advice.After(table, r, id)
			if rem.When == advice.NextSeason {
				part = 1
				next, applies = advice.NextLot(table, r, id)
			}
			if !applies {
				continue
			}
			r, factor, any = next, factor*part, true
			if kg > 0 {
				hours := rem.Work.Hours(kg)
				out.hours += hours
				tariff := settings.Tariffs[id]
				cost += hours/8*settings.DayWage.Float() + tariff.Fixed.Float() + tariff.PerKG.Float()*kg
			}
		}
		out.cost += cost
		is, err := grading.Grade(table, r)
		if err != nil {
			is, any = was, false
		}
		out.grades[table.ID+" "+string(is.Grade)]++
		out.kg += kg
		before, priced := fetches(settings, table, c, &was, kg)
		if priced {
			out.money += before
		}
		if !any {
			continue
		}
		out.done++
		out.kgLost += kg * (1 - factor)
		out.steps += min(was.Rank, was.Of+1) - min(is.Rank, is.Of+1)
		if is.Rank < was.Rank {
			out.lifted++
			out.liftedCost += cost
		} else if is.Rank > was.Rank {
			out.lowered++
		}
		if priced {
			after, _ := fetches(settings, table, c, &is, kg*factor)
			if out.gained += after - before; is.Rank < was.Rank {
				out.liftedGained += after - before
			}
		}
	}
	return out
}

// fetches is what kg of a lot fetch at a grade.
func fetches(settings advice.Settings, s *grading.Standard, c *session.Check, r *grading.Result, kg float64) (float64, bool) {
	for _, g := range s.Grades {
		if _, ok := settings.Prices[g.Label]; !ok {
			return 0, false
		}
	}
	price := settings.OutPrice
	if !r.OutOfGrade() {
		price = settings.Prices[r.Grade]
	}
	if m := r.Parameter("moisture"); m != nil && m.Measured && len(settings.Deductions) > 0 {
		paid, taken := advice.Deduct(price, m.Value.Round(4), settings.Deductions)
		if price = paid; !taken {
			price = settings.OutPrice
		}
	}
	return kg * price.Float(), c.Lot.KG > 0 && settings.OutPrice > 0
}

func near(a, b, relative float64) bool {
	return math.Abs(a-b) <= relative*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// same holds an outcome against the second computation.
func (want *lotsAs) same(t *testing.T, what string, w *ledger.WhatIf, o *ledger.Outcome) {
	t.Helper()
	if o.Done != want.done || o.Lifted != want.lifted || o.Lowered != want.lowered || o.Steps != want.steps {
		t.Errorf("%s: %d done, %d lifted, %d lowered, %d steps; want %d, %d, %d, %d", what,
			o.Done, o.Lifted, o.Lowered, o.Steps, want.done, want.lifted, want.lowered, want.steps)
	}
	for i, g := range w.Grades {
		if n := want.grades[g.Standard+" "+string(g.Label)]; o.After.Grades[i] != n {
			t.Errorf("%s: %s %s: %d lots, want %d", what, g.Standard, g.Label, o.After.Grades[i], n)
		}
	}
	// The weight left is kept in 65535ths of each lot's.
	if !near(o.KGLost.Float(), want.kgLost, 1e-3) && math.Abs(o.KGLost.Float()-want.kgLost) > want.kg*2e-5 {
		t.Errorf("%s: %s kg lost, want %.3f", what, o.KGLost, want.kgLost)
	}
	if math.Abs(o.MoneyGained.Float()-want.gained) > want.money*2e-5 {
		t.Errorf("%s: %s gained, want %.2f of %.2f", what, o.MoneyGained, want.gained, want.money)
	}
	if !near(o.After.Money.Float(), want.money+want.gained, 2e-5) || !near(o.After.KG.Float(), want.kg-want.kgLost, 2e-5) {
		t.Errorf("%s: %s kg fetch %s, want %.2f and %.2f", what, o.After.KG, o.After.Money, want.kg-want.kgLost, want.money+want.gained)
	}
	if math.Abs(o.LiftedNet()-(want.liftedGained-want.liftedCost)) > want.money*2e-5 || math.Abs(o.Net()-(want.gained-want.cost)) > want.money*2e-5 {
		t.Errorf("%s: net %.2f, %.2f where it lifts; want %.2f, %.2f", what, o.Net(), o.LiftedNet(), want.gained-want.cost, want.liftedGained-want.liftedCost)
	}
	if !near(o.Hours, want.hours, 1e-9) || !near(o.Cost, want.cost, 1e-9) {
		t.Errorf("%s: %.3f hours, cost %.3f; want %.3f, %.3f", what, o.Hours, o.Cost, want.hours, want.cost)
	}
}

func TestAWhatIfGradesEveryLotAgain(t *testing.T) {
	bands := prices()
	bands.Deductions = advice.TamilNadu2022()
	bands.Tariffs = map[advice.RemedyID]advice.Tariff{advice.Destone: {Fixed: grading.NewDecimal(5), PerKG: 500}}
	dear := prices()
	dear.DayWage = grading.NewDecimal(900) // so much that a machine of unknown fee looks better than the sun
	for name, settings := range map[string]advice.Settings{"grade steps": {}, "money": prices(), "deductions and a tariff": bands, "dear work": dear} {
		t.Run(name, func(t *testing.T) {
			const seed = 31
			t.Logf("seed %d", seed)
			_, last, known := history(t, seed, 900)
			for i := range last { // small lots too, which are picked over by hand
				if i%3 == 0 && last[i].Lot.KG > 0 {
					last[i].Lot.KG = grading.NewDecimal(20 + i%90)
				}
			}
			l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known, Advice: settings})
			l.Apply(last...)
			f := ledger.Filter{Kind: ledger.LastCheck}
			w := l.View().WhatIf(ledger.Filter{})
			second := newSlow(last, known, dar(t))
			now := second.lotsAs(t, f, settings, nil)
			if w.Lots != now.lots || w.Refused != now.refused || w.Lots < 300 || w.Refused == 0 || !near(w.Before.Money.Float(), now.money, 1e-9) {
				t.Errorf("%d lots, %d refused, fetch %s; want %d, %d, %.2f", w.Lots, w.Refused, w.Before.Money, now.lots, now.refused, now.money)
			}
			tried := append(slices.Clone(w.ThisLot), w.Season...)
			for i := range tried {
				id := tried[i].Remedies[0]
				want := second.lotsAs(t, f, settings, nil, id)
				want.same(t, string(id), &w, w.Option(id))
				for d := range w.Districts {
					part := &w.Districts[d]
					for _, o := range slices.Concat(part.ThisLot, part.Season) {
						if o.Remedies[0] == id {
							want := second.lotsAs(t, f, settings, &part.District, id)
							want.same(t, part.District+" "+string(id), &w, &o)
						}
					}
				}
			}
			for _, two := range []*ledger.Outcome{w.ThisLotTwo, w.SeasonTwo} {
				if two == nil {
					t.Fatal("no second remedy adds anything")
				}
				want := second.lotsAs(t, f, settings, nil, two.Remedies...)
				want.same(t, "two", &w, two)
			}
			second.holdsOrder(t, f, settings, &w)
		})
	}
}

// holdsOrder reports whether no remedy, and no second one, gains more than the
// best by the second computation.
func (s *slow) holdsOrder(t *testing.T, f ledger.Filter, settings advice.Settings, w *ledger.WhatIf) {
	t.Helper()
	gain := func(ids ...advice.RemedyID) float64 {
		want := s.lotsAs(t, f, settings, nil, ids...)
		if len(settings.Prices) == 0 {
			return float64(want.steps)
		}
		return want.liftedGained - want.liftedCost
	}
	if w.InMoney != (len(settings.Prices) > 0) {
		t.Errorf("in money: %v", w.InMoney)
	}
	slack := w.Before.Money.Float()*4e-5 + 1e-6
	for kind, list := range [][]ledger.Outcome{w.ThisLot, w.Season} {
		two := [...]*ledger.Outcome{w.ThisLotTwo, w.SeasonTwo}[kind]
		best := list[0].Remedies[0]
		for i, o := range list[1:] {
			id := o.Remedies[0]
			if was := list[i]; was.CostUnknown && !o.CostUnknown && advice.RemedyOf(was.Remedies[0]).Dries && advice.RemedyOf(id).Dries {
				t.Errorf("%s, of a fee that nobody gave, comes before %s, which dries as well", was.Remedies[0], id)
			}
			if g := gain(id); !o.CostUnknown && g > gain(best)+slack {
				t.Errorf("%s gains %.2f, more than the best, %s", id, g, best)
			}
			same := advice.RemedyOf(id).Dries && advice.RemedyOf(best).Dries
			if g := gain(best, id); !same && !o.CostUnknown && !clashing(best, id) && g > gain(two.Remedies...)+slack {
				t.Errorf("%s with %s gains %.2f, more than the best two, %q", best, id, g, two.Remedies)
			}
		}
	}
}

// clashing are the ways to take out stones of a grain's size: one is enough.
func clashing(a, b advice.RemedyID) bool {
	stones := []advice.RemedyID{advice.PickStones, advice.Destone, advice.SortByHand}
	return slices.Contains(stones, a) && slices.Contains(stones, b)
}

func TestAWhatIfOfNothing(t *testing.T) {
	w := ledger.New(ledger.Settings{}).View().WhatIf(ledger.Filter{})
	if w.Lots != 0 || len(w.Districts) != 0 || w.ThisLotTwo != nil || w.Option(advice.Winnow) == nil || w.Option("no such") != nil {
		t.Errorf("of nothing: %+v", w)
	}
}
