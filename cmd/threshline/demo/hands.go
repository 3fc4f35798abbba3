package demo

import (
	"context"
	"math/rand/v2"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// everyHand is of which part of the season's lots somebody counts by hand first; the
// kit comes the same day to every second of them, and to the others never.
const everyHand = 11

// FileHands files invented checks by hand beside the season's, unless there are some.
// They are of its first checks' lots, an hour and a half before.
func FileHands(ctx context.Context, store Store, p *programme.Programme) error {
	checks, err := store.Filed(ctx, 0, 2*Checks)
	if err != nil {
		return err
	}
	random, n := rand.New(rand.NewPCG(20, 6)), 0
	var w session.Writes
	for _, kit := range checks {
		if kit.Readings.ByHand() {
			return nil
		}
		if kit.State != session.Filed || kit.Recheck != "" || kit.RecheckedBy != "" || kit.Seen() {
			continue
		}
		if n++; n%everyHand != 0 {
			continue
		}
		hand := session.Check{
			Slip: session.NewSlip(random.Uint64()), State: session.Filed, Lot: kit.Lot, Readings: counts(&kit, random),
			Reporter: kit.Reporter, Agent: kit.Agent, Channel: kit.Channel, Language: kit.Language, Procedure: kit.Procedure,
			Started: kit.Started.Add(-90 * time.Minute), At: kit.At.Add(-90 * time.Minute),
			StandardID: p.Standard.ID, Edition: p.Standard.Edition,
		}
		if n%(2*everyHand) == 0 {
			kit.Recheck, kit.AfterHand = hand.Slip, true
			w.Checks = append(w.Checks, hand, kit)
		} else { // another lot of the same grower
			hand.Lot.Bags, hand.Lot.KG = 3, 3*hand.Lot.BagKG
			w.Checks = append(w.Checks, hand)
		}
	}
	return Apply(ctx, store, w)
}

// counts are what hands find in handfuls of about such a lot: 200 grains counted off
// and 50 husked. An empty husk weighs a fourth of a grain here, a stone as much as
// one and a half.
func counts(kit *session.Check, random *rand.Rand) grading.Readings {
	share := func(f, of grading.Field) float64 {
		part, _ := kit.Readings.Get(f)
		whole, ok := kit.Readings.Get(of)
		if !ok || whole == 0 {
			return 0
		}
		return part.Float() / whole.Float()
	}
	found := func(n int, share float64) (hits uint16) {
		for range n {
			if random.Float64() < share {
				hits++
			}
		}
		return hits
	}
	h := grading.Hand{
		Grains: 200, Husked: 50, Handfuls: 3,
		Empty: found(200, min(4*share(grading.Chaff, grading.SampleWeight), 0.4)), Stones: found(200, share(grading.Stones, grading.SampleWeight)/1.5),
		Green: found(200, 1.3*share(grading.ImmatureWeight, grading.BrownWeight)),
		Red:   found(50, share(grading.Red, grading.Counted)), Bored: found(50, share(grading.PestDamaged, grading.Counted)),
		Discoloured: found(50, share(grading.Discoloured, grading.Counted)),
	}
	return grading.Readings{Hand: h, Looked: grading.WasLooked}
}
