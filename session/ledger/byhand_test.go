package ledger_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/ledger/hands"
)

// handCheck is a check by hand as it is filed: without a grade.
func handCheck(i int, like *session.Check) session.Check {
	c := session.Check{
		Slip: session.Slip(fmt.Sprintf("H%05d", i)), Position: uint64(1_000_000 + i), State: session.Filed, Lot: like.Lot,
		Reporter: like.Reporter, Agent: like.Agent, Channel: like.Channel, At: like.At.Add(-time.Hour), StandardID: like.StandardID, Edition: like.Edition,
		Readings: grading.Readings{Hand: grading.Hand{Grains: 200, Empty: uint16(i % 20), Husked: 50}, Looked: grading.WasLooked},
	}
	if i%7 == 0 {
		c.Readings.Flags = []grading.Flag{grading.TooWet}
	}
	return c
}

func TestChecksByHandAreInNoOtherFigure(t *testing.T) {
	const seed = 12
	t.Logf("seed %d", seed)
	_, checks, known := history(t, seed, 600)
	settings := ledger.Settings{Zone: dar(t), Standards: known, Advice: prices()}
	without, with := ledger.New(settings), ledger.New(settings)
	without.Apply(checks...)
	var counted []session.Check
	lots, growers := 0, map[session.PersonID]bool{}
	for i := range 150 {
		c := handCheck(i, &checks[i*3])
		switch {
		case i%5 == 1 && checks[i*3].State == session.Filed: // a look at a lot that was measured with the kit
			c.Recheck, c.At = checks[i*3].Slip, checks[i*3].At.Add(time.Hour)
		case i%5 == 2:
			c.Recheck = counted[i-1].Slip
		case i%5 == 3:
			c.State = session.Withdrawn
		}
		counted = append(counted, c)
		if c.State == session.Filed {
			growers[c.Lot.Grower] = true
			if i%5 != 2 {
				lots++
			}
		}
	}
	with.Apply(counted...)
	with.Apply(checks...)
	for _, f := range []ledger.Filter{{}, {Kind: ledger.LastCheck}, {Kind: ledger.FirstCheck}, {State: ledger.AnyState}, {Standard: "agmark-paddy"}} {
		if diff := gocmp.Diff(without.View().Summary(f), with.View().Summary(f)); diff != "" {
			t.Errorf("%+v: a season with checks by hand says otherwise (- without, + with):\n%s", f, diff)
		}
		if diff := gocmp.Diff(without.View().WhatIf(f), with.View().WhatIf(f)); diff != "" {
			t.Errorf("%+v: a what-if with checks by hand says otherwise:\n%s", f, diff)
		}
	}
	if diff := gocmp.Diff(without.View().Quality(), with.View().Quality()); diff != "" {
		t.Errorf("findings with checks by hand are others:\n%s", diff)
	}
	reach := with.View().Reach(ledger.Filter{})
	if reach.Checks != 120 || reach.Lots != lots || reach.Growers != len(growers) || lots == 0 {
		t.Errorf("reach is %d checks of %d lots of %d growers, want 120, %d, %d", reach.Checks, reach.Lots, reach.Growers, lots, len(growers))
	}
	for what, list := range map[string][]hands.Reached{"districts": reach.Districts, "weeks": reach.Weeks} {
		sum, lots := 0, 0
		for _, g := range list {
			sum, lots = sum+g.Checks, lots+g.Lots
			if g.Growers == 0 || g.Growers > g.Checks {
				t.Errorf("%s %q: %d growers of %d checks", what, g.Key, g.Growers, g.Checks)
			}
		}
		if len(list) < 2 || sum != reach.Checks || lots != reach.Lots {
			t.Errorf("%d %s add up to %d checks and %d lots", len(list), what, sum, lots)
		}
	}
	either := ledger.Filter{Way: ledger.EitherWay, State: ledger.AnyState}
	if n, all := len(slices.Collect(with.View().Slips(either))), len(checks)+len(counted); n != all {
		t.Errorf("%d checks are listed, want all %d", n, all)
	}
	if n := len(slices.Collect(with.View().Slips(ledger.Filter{Way: ledger.ByHand}))); n != 120 {
		t.Errorf("%d checks by hand are listed, want 120", n)
	}
}

func TestACheckWithTheKitIsPairedWithTheOneByHandBefore(t *testing.T) {
	_, checks, known := history(t, 4, 60)
	checks = slices.DeleteFunc(checks, func(c session.Check) bool { return c.State != session.Filed || c.Recheck != "" })
	hand, right, gone := handCheck(1, &checks[0]), handCheck(2, &checks[0]), handCheck(3, &checks[2])
	hand.State, hand.ReplacedBy = session.Corrected, right.Slip
	gone.State = session.Withdrawn
	first, second, third := checks[0], checks[2], checks[4]
	first.Recheck, second.Recheck, third.Recheck = hand.Slip, gone.Slip, first.Slip
	for name, order := range map[string][]session.Check{"as filed": {right, hand, gone, first, second, third}, "backwards": {third, second, first, gone, hand, right}} {
		l := ledger.New(ledger.Settings{Standards: known})
		l.Apply(order...)
		pairs, of := l.View().HandPairs(ledger.Filter{}, 9)
		if diff := gocmp.Diff([]hands.Pair{{Hand: right.Slip, Kit: first.Slip}}, pairs); diff != "" || of != 1 {
			t.Errorf("%s: pairs of hand and kit (- want, + got):\n%s", name, diff)
		}
		if s := l.View().Summary(ledger.Filter{}); s.Rechecks.Pairs != 1 {
			t.Errorf("%s: %d re-checks are compared, want only that of the kit by the kit", name, s.Rechecks.Pairs)
		}
		last := slices.Collect(l.View().Slips(ledger.Filter{Way: ledger.EitherWay, Kind: ledger.LastCheck}))
		if slices.Contains(last, right.Slip) || slices.Contains(last, first.Slip) || !slices.Contains(last, third.Slip) {
			t.Errorf("%s: the newest checks of lots are %v", name, last)
		}
	}
}
