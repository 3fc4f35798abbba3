package grading_test

import (
	"fmt"
	"slices"
	"testing"

	"threshline/grading"
)

// soundLot is a lot that nothing speaks against.
const soundLot = `{"moisture":[13.8,14.1,13.9],"sample_g":200,"chaff_g":2.4,"stones_g":0.6,"clean_g":196.9,"brown_g":155.2,
	"immature_g":1.1,"counted":100,"pest_damaged":0,"discoloured":1,"red":2,"other_variety":1,"cracked":12}`

func TestNothingSpeaksAgainstASoundLot(t *testing.T) {
	if got := grading.Doubts(agmark(t), read(t, soundLot)); len(got) != 0 {
		t.Errorf("doubts: %+v", got)
	}
	if got := grading.Doubts(nil, grading.Readings{}); len(got) != 0 {
		t.Errorf("doubts about nothing: %+v", got)
	}
}

// TestDoubts makes one reading odd at a time; every doubt has its case.
func TestDoubts(t *testing.T) {
	type reading struct {
		field grading.Field
		value string
	}
	seen := map[grading.DoubtID]bool{}
	for _, c := range []struct {
		name    string
		repeats string
		set     []reading
		id      grading.DoubtID
		again   grading.Field
		blocks  bool
		value   string
	}{
		{"readings 1.1 points apart", "[13.0,14.1,13.5]", nil, grading.MoistureSpread, grading.Moisture, false, "1.1"},
		{"drier than a meter reads", "[7.5,7.9]", nil, grading.MoistureRange, grading.Moisture, false, "7.5"},
		{"wetter than a meter reads", "[35.5,35.1]", nil, grading.MoistureRange, grading.Moisture, false, "35.5"},
		{"138 for 13.8", "[138]", nil, grading.MoistureNotPaddy, grading.Moisture, true, "138"},
		{"a dry stone", "[1.4]", nil, grading.MoistureNotPaddy, grading.Moisture, true, "1.4"},
		{"kilograms for grams", "", []reading{{grading.SampleWeight, "0.2"}, {grading.Chaff, "0"}, {grading.Stones, "0"}, {grading.CleanWeight, "0.2"}, {grading.BrownWeight, "0.155"}, {grading.ImmatureWeight, "0"}},
			grading.SampleSmall, grading.SampleWeight, false, "0.2"},
		{"a bag for a sample", "", []reading{{grading.SampleWeight, "2001"}, {grading.CleanWeight, "1995"}, {grading.BrownWeight, "1550"}}, grading.SampleLarge, grading.SampleWeight, false, "2001"},
		{"more taken out than there was", "", []reading{{grading.Chaff, "150"}, {grading.Stones, "60"}}, grading.PartsOverSample, grading.SampleWeight, true, "210"},
		{"a fifth and more is dirt", "", []reading{{grading.Chaff, "41"}, {grading.CleanWeight, "158"}, {grading.BrownWeight, "125"}}, grading.DirtHigh, grading.Chaff, false, "20.8"},
		{"cleaning made it more", "", []reading{{grading.CleanWeight, "201"}}, grading.CleanOverSample, grading.CleanWeight, true, "201"},
		{"parts a little heavier than the sample", "", []reading{{grading.CleanWeight, "199.5"}}, grading.BalanceGain, grading.CleanWeight, false, "1.25"},
		{"parts far heavier than the sample", "", []reading{{grading.CleanWeight, "199.5"}, {grading.Chaff, "12"}}, grading.BalanceGain, grading.CleanWeight, true, "6.05"},
		{"parts lighter than the sample", "", []reading{{grading.CleanWeight, "190"}, {grading.BrownWeight, "150"}}, grading.BalanceLoss, grading.CleanWeight, false, "3.5"},
		{"husking made it more", "", []reading{{grading.BrownWeight, "197"}}, grading.BrownOverClean, grading.BrownWeight, true, "197"},
		{"no husk came off", "", []reading{{grading.CleanWeight, "197"}, {grading.BrownWeight, "167.6470"}}, grading.BrownHigh, grading.BrownWeight, false, "85.1"},
		{"too little brown rice", "", []reading{{grading.CleanWeight, "197"}, {grading.BrownWeight, "127.8530"}}, grading.BrownLow, grading.BrownWeight, false, "64.9"},
		{"more immature than brown", "", []reading{{grading.ImmatureWeight, "156"}}, grading.ImmatureOver, grading.ImmatureWeight, true, "156"},
		{"mostly immature", "", []reading{{grading.ImmatureWeight, "93.12"}}, grading.ImmatureHigh, grading.ImmatureWeight, false, "60"},
		{"more red than counted", "", []reading{{grading.Red, "101"}}, grading.CountOver, grading.Red, true, "101"},
		{"more cracked than counted", "", []reading{{grading.Cracked, "101"}}, grading.CountOver, grading.Cracked, true, "101"},
		{"faults together over the count", "", []reading{{grading.Red, "60"}, {grading.Discoloured, "45"}}, grading.FaultsOver, grading.PestDamaged, true, "106"},
		{"a few grains", "", []reading{{grading.Counted, "49"}}, grading.CountedFew, grading.Counted, false, "49"},
		{"a pan and a half", "", []reading{{grading.Counted, "150"}}, grading.CountedUneven, grading.Counted, false, "150"},
		{"more than one counts", "", []reading{{grading.Counted, "2100"}}, grading.CountedMany, grading.Counted, false, "2100"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := read(t, soundLot)
			if c.repeats != "" {
				r.Repeats = read(t, fmt.Sprintf(`{"moisture":%s}`, c.repeats)).Repeats
			}
			for _, s := range c.set {
				r.Set(s.field, dec(t, s.value))
			}
			got := grading.Doubts(agmark(t), r)
			if len(got) != 1 {
				t.Fatalf("doubts: %+v, want one", got)
			}
			d := got[0]
			seen[d.ID] = true
			if d.ID != c.id || d.Again != c.again || d.Blocks != c.blocks || d.Value != dec(t, c.value) {
				t.Errorf("%+v\nwant %s again %s blocks %v value %s", d, c.id, c.again, c.blocks, c.value)
			}
			if len(d.Fields) == 0 || !slices.Contains(d.Fields, d.Again) {
				t.Errorf("fields %v do not hold %s", d.Fields, d.Again)
			}
			if d.Value >= d.Low && d.Value <= d.High && d.ID != grading.CountedUneven {
				t.Errorf("%s lies inside %s to %s", d.Value, d.Low, d.High)
			}
		})
	}
	seen[grading.ValuesOverWhole] = true // its own test below
	for _, id := range grading.DoubtIDs() {
		if !seen[id] {
			t.Errorf("no case for %q", id)
		}
	}
}

func TestValuesOfOneWholeCannotExceedIt(t *testing.T) {
	r := read(t, `{"values":{"foreign_matter":60,"admixture":41}}`)
	got := grading.Doubts(agmark(t), r)
	if len(got) != 1 || got[0].ID != grading.ValuesOverWhole || !got[0].Blocks || len(got[0].Parameters) != 2 {
		t.Errorf("60 and 41 %%: %+v", got)
	}
	r.Values["admixture"] = grading.NewDecimal(40)
	if got := grading.Doubts(agmark(t), r); len(got) != 0 {
		t.Errorf("60 and 40 %%: %+v", got)
	}
}

// TestPublishedYieldsAreNotDoubted: the four brown-rice yields of
// [ISO-17301 Annex D], and each with its reproducibility limit R to both sides.
func TestPublishedYieldsAreNotDoubted(t *testing.T) {
	for _, y := range []struct{ yield, reproducibility string }{{"81.2", "2.89"}, {"82", "0.57"}, {"81.8", "2.26"}, {"77.7", "6.06"}} {
		mean, reach := dec(t, y.yield), dec(t, y.reproducibility)
		for _, brown := range []grading.Decimal{mean - reach, mean, mean + reach} {
			var r grading.Readings
			r.Set(grading.CleanWeight, grading.NewDecimal(100))
			r.Set(grading.BrownWeight, brown)
			if got := grading.Doubts(nil, r); len(got) != 0 {
				t.Errorf("%s g of 100: %+v", brown, got)
			}
		}
	}
}

// TestBlockingDoubtsAreWhatCannotBe: whatever Grade refuses of two readings
// that disagree, Doubts blocks as well, so that the dialogue can say why.
func TestBlockingDoubtsAreWhatCannotBe(t *testing.T) {
	for _, c := range []struct {
		field grading.Field
		value string
	}{{grading.Chaff, "250"}, {grading.CleanWeight, "250"}, {grading.BrownWeight, "198"}, {grading.ImmatureWeight, "160"}, {grading.Red, "120"}} {
		r := read(t, soundLot)
		r.Set(c.field, dec(t, c.value))
		if r.Check() == nil {
			t.Errorf("%s %s passes Check", c.field, c.value)
		}
		if got := grading.Doubts(nil, r); !slices.ContainsFunc(got, func(d grading.Doubt) bool { return d.Blocks }) {
			t.Errorf("%s %s: %+v, want one that blocks", c.field, c.value, got)
		}
	}
}
