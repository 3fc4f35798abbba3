package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// Days is how long the invented season lasts, up to today.
const Days = 70

// checksATurn is how many invented checks go into one exchange.
const checksATurn = 60

// Store is where the season goes.
type Store interface {
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
	Filed(ctx context.Context, after uint64, n int) ([]session.Check, error)
}

// File files the invented people and checks in an empty store and says
// in a line what it did. A store that holds checks already is left as it is.
func File(ctx context.Context, store Store, p *programme.Programme, now time.Time) (string, error) {
	if have, err := store.Filed(ctx, 0, 1); err != nil || len(have) > 0 {
		return "the season is in the store already", err
	}
	begin := now.AddDate(0, 0, -Days)
	people := People(begin)
	if err := Apply(ctx, store, session.Writes{People: people}); err != nil {
		return "", err
	}
	checks, err := Invent(p, people, begin)
	if err != nil {
		return "", err
	}
	for batch := range slices.Chunk(checks, checksATurn) {
		if err := Apply(ctx, store, session.Writes{Checks: batch}); err != nil {
			return "", err
		}
	}
	return fmt.Sprintf("season   %d invented checks by %d agents in %d districts", len(checks), len(agents), len(districts)), nil
}

// Apply stores something that is not the answer to a message.
func Apply(ctx context.Context, store Store, w session.Writes) error {
	_, err := store.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) { return w, nil })
	return err
}

// Invent makes the season's checks in the order in which they came; one
// in six is a re-check of a lot after its remedy.
func Invent(p *programme.Programme, people []session.Person, begin time.Time) ([]session.Check, error) {
	maker := newLotMaker()
	growers := slices.DeleteFunc(slices.Clone(people), func(p session.Person) bool { return p.Role != session.Grower })
	kits := map[session.PersonID]session.Kit{}
	for i := range people {
		kits[people[i].ID] = people[i].Kit
	}
	var checks []session.Check
	for n := range Checks {
		at := begin.Add(time.Duration(float64(n) / Checks * Days * 24 * float64(time.Hour))).
			Truncate(24 * time.Hour).Add(time.Duration(6*60+maker.random.IntN(11*60)) * time.Minute)
		grower := growers[maker.random.IntN(len(growers))]
		c := session.Check{
			Procedure: session.Procedure,
			Slip:      session.NewSlip(maker.random.Uint64()), State: session.Filed, Readings: maker.readings(districtOf(grower)),
			Reporter: grower.Agent, Agent: grower.Agent, Channel: "valley-ussd", Language: grower.Language,
			Started: at.Add(-time.Duration(9+maker.random.IntN(15)) * time.Minute), At: at,
		}
		read(&c.Readings, p.MeterOf(kits[grower.Agent], at))
		hazard(&c.Readings, n)
		bags := 2 + maker.random.IntN(28)
		c.Lot = session.Lot{
			Grower: grower.ID, Variety: varieties[maker.random.IntN(len(varieties))], District: grower.District,
			Village: grower.Village, Bags: bags, BagKG: p.BagKG, KG: grading.Decimal(bags) * p.BagKG,
		}
		if before := len(checks) - 1; n%6 == 5 && checks[before].Remedy != "" {
			again(&c, checks[before], p)
		}
		if err := Judge(&c, p); err != nil {
			return nil, err
		}
		checks = append(checks, c)
	}
	return checks, nil
}

// read reads the moisture with a meter, as that meter shows it.
func read(r *grading.Readings, m grading.Meter) {
	r.Meter = m
	for i := range r.Repeats {
		r.Repeats[i] += m.Bias
	}
}

// hazard puts a few lots of the season's last week in danger, so that there is
// something to warn about.
func hazard(r *grading.Readings, n int) {
	switch Checks - n {
	case 40, 11:
		r.Set(grading.LiveWeevils, grading.NewDecimal(3))
	case 30: // brought in wet
		for i := range r.Repeats {
			r.Repeats[i] += 6 * grading.One
		}
	case 22:
		r.Flags = append(r.Flags, grading.Mouldy)
	}
}

// again makes c a re-check of an earlier check: the lot as the remedy left it.
func again(c *session.Check, before session.Check, p *programme.Programme) {
	after, share, applies := advice.After(p.Standard, before.Readings, before.Remedy)
	if !applies {
		return
	}
	c.Recheck, c.Lot, c.Readings = before.Slip, before.Lot, after
	c.Lot.KG = grading.Decimal(float64(before.Lot.KG) * share)
	c.Reporter, c.Agent, c.Language = before.Reporter, before.Agent, before.Language
	if early := before.At.Add(time.Hour).Sub(c.At); early > 0 { // of one day: the remedy takes its time
		c.Started, c.At = c.Started.Add(early), c.At.Add(early)
	}
}

func districtOf(p session.Person) district {
	for _, d := range districts {
		if d.name == p.District {
			return d
		}
	}
	return districts[0]
}

// Judge grades an invented check as the dialogue would have.
func Judge(c *session.Check, p *programme.Programme) error {
	judged, err := p.Judge(c.Lot, c.Readings, session.Kit{}, c.At, nil)
	if err != nil {
		return fmt.Errorf("invented check %s: %w", c.Slip, err)
	}
	judged.Record(c, p.Standard)
	return nil
}

// fillBatch is how many checks of a large season go into one exchange.
const fillBatch = 20_000

// Fill files n checks in an empty store: those of the season repeated, from 300 agents
// and a grower for every few hundred checks, spread evenly over the time up to now. It
// tells how many it has filed.
func Fill(ctx context.Context, store Store, p *programme.Programme, now time.Time, n int, filed func(int)) error {
	begin := now.AddDate(0, 0, -Days)
	people := People(begin)
	season, err := Invent(p, people, begin)
	if err != nil {
		return err
	}
	if err := Apply(ctx, store, session.Writes{People: people}); err != nil {
		return err
	}
	random, slips := rand.New(rand.NewPCG(17, 1)), map[session.Slip]bool{}
	for from := 0; from < n; from += fillBatch {
		var w session.Writes
		for i := from; i < min(n, from+fillBatch); i++ {
			c := season[i%len(season)]
			for c.Recheck = ""; slips[c.Slip]; {
				c.Slip = session.NewSlip(random.Uint64())
			}
			slips[c.Slip] = true
			agent := random.IntN(300)
			c.Agent = session.PersonID(fmt.Sprintf("agent-%03d", agent))
			c.Reporter, c.Lot.Grower = c.Agent, session.PersonID(fmt.Sprintf("grower-%03d-%03d", agent, random.IntN(n/1000+1)))
			c.At = begin.Add(time.Duration(float64(i) / float64(n) * Days * 24 * float64(time.Hour)))
			c.Started = c.At.Add(-15 * time.Minute)
			w.Checks = append(w.Checks, c)
		}
		if err := Apply(ctx, store, w); err != nil {
			return err
		}
		filed(len(w.Checks))
	}
	return nil
}
