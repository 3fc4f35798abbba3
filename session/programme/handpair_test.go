package programme_test

import (
	"testing"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session"
	"threshline/session/programme"
)

var pairBegun = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)

// pairOf is a check by hand, and one with the kit an hour later, of a lot with so
// much chaff: percent in the kit's sample, empty husks of 200 grains by hand.
func pairOf(t *testing.T, p *programme.Programme, empty uint16, percent int, moisture grading.Decimal) (hand, kit session.Check) {
	t.Helper()
	lot := session.Lot{Grower: "g", Bags: 8, BagKG: grading.NewDecimal(75), KG: grading.NewDecimal(600)}
	hand = session.Check{
		Slip: "HAND", State: session.Filed, Lot: lot, At: pairBegun, Procedure: session.Procedure, StandardID: p.Standard.ID, Edition: p.Standard.Edition,
		Readings: grading.Readings{Looked: grading.WasLooked, Hand: grading.Hand{Grains: 200, Empty: empty, Green: 2, Husked: 50, Handfuls: 3}},
	}
	r := grading.Readings{Repeats: []grading.Decimal{moisture}, Looked: grading.WasLooked}
	for f, d := range map[grading.Field]grading.Decimal{
		grading.SampleWeight: grading.NewDecimal(200), grading.Chaff: grading.NewDecimal(2 * percent), grading.Stones: 0,
		grading.BrownWeight: grading.NewDecimal(76 * (100 - percent) / 50), grading.ImmatureWeight: grading.One, grading.Counted: grading.NewDecimal(100),
		grading.PestDamaged: 0, grading.Discoloured: 0, grading.Red: 0, grading.OtherVariety: 0,
	} {
		r.Set(f, d)
	}
	judged, err := p.Judge(lot, r, session.Kit{}, pairBegun, nil)
	if err != nil {
		t.Fatal(err)
	}
	kit = session.Check{Slip: "KIT", State: session.Filed, Lot: lot, Readings: r, At: pairBegun.Add(time.Hour), Procedure: session.Procedure, Recheck: hand.Slip}
	judged.Record(&kit, p.Standard)
	return hand, kit
}

func inTheBook(t *testing.T) *programme.Programme {
	t.Helper()
	s, err := standard.ByID("agmark-paddy")
	if err != nil {
		t.Fatal(err)
	}
	return &programme.Programme{Standard: s}
}

func TestHandsAreHeldAgainstTheKit(t *testing.T) {
	p := inTheBook(t)
	hand, kit := pairOf(t, p, 60, 10, 120_000)
	pair := p.HoldHand(&hand, &kit)
	if pair.Apart != programme.PairTogether || !pair.Stated || !pair.Held || pair.Chance < 0.5 {
		t.Errorf("a chaffy lot by hand and kit: %+v", pair)
	}
	if pair.ByHand != advice.Winnow || pair.ByKit != advice.Winnow {
		t.Errorf("remedies are %q by hand and %q by the kit, want to winnow", pair.ByHand, pair.ByKit)
	}
	measured := map[grading.ParameterID]programme.HandValue{}
	for _, v := range pair.Values {
		measured[v.Parameter] = v
	}
	chaff, ok := measured["foreign_matter"]
	if v := kit.Values["foreign_matter"].Float(); !ok || chaff.Measured != v || chaff.Said <= 0 || chaff.Doubt <= 0 {
		t.Errorf("foreign matter is held as %+v, the kit measured %v", chaff, v)
	}
	if _, ok := measured["moisture"]; ok {
		t.Error("hands are held to moisture, which they did not measure")
	}
	far := hand
	far.Readings.Hand.Empty = 0
	if clean := p.HoldHand(&far, &kit); clean.Held || clean.ByHand != "" {
		t.Errorf("a chaffy lot that hands took for clean is held as well said: %+v", clean)
	}
}

// What hands cannot measure is not held against them: a lot that is wet is held
// as it will be once dry, where that is what was said.
func TestHandsAreNotHeldToWater(t *testing.T) {
	p := inTheBook(t)
	hand, kit := pairOf(t, p, 6, 2, 190_000)
	said, err := p.JudgeHand(hand.Lot, hand.Readings, hand.At, nil)
	if err != nil || !said.Likely.IfDry {
		t.Fatalf("grades are not said for the dry lot: %+v, %v", said.Likely, err)
	}
	if pair := p.HoldHand(&hand, &kit); !pair.Stated || !pair.Held {
		t.Errorf("a lot that only water keeps out of grade: %+v, the kit's grade %s", pair, kit.Grade)
	}
}

func TestPairsThatSayNothingAreLeftOut(t *testing.T) {
	p := inTheBook(t)
	for _, c := range []struct {
		name   string
		change func(hand, kit *session.Check)
		want   programme.PairApart
	}{
		{"three days later", func(_, k *session.Check) { k.At = pairBegun.AddDate(0, 0, 3) }, programme.PairTogether},
		{"four days later", func(_, k *session.Check) { k.At = pairBegun.AddDate(0, 0, 4) }, programme.PairLate},
		{"another table", func(_, k *session.Check) { k.Edition = "older" }, programme.PairOtherTable},
		{"an older procedure", func(_, k *session.Check) { k.Procedure = 1 }, programme.PairOtherTable},
		{"counts that cannot be", func(h, _ *session.Check) { h.Readings.Hand.Empty = 300 }, programme.PairOtherTable},
	} {
		hand, kit := pairOf(t, p, 20, 3, 120_000)
		c.change(&hand, &kit)
		if got := p.HoldHand(&hand, &kit).Apart; got != c.want {
			t.Errorf("%s: left out for %q, want %q", c.name, got, c.want)
		}
	}
	hand, kit := pairOf(t, p, 20, 3, 120_000)
	kit.Readings.Unset(grading.BrownWeight)
	if pair := p.HoldHand(&hand, &kit); pair.Stated || len(pair.Values) == 0 {
		t.Errorf("a kit's check that lacks a reading: %+v, want values and no grade", pair)
	}
}
