package shorthand_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"threshline/grading"
	"threshline/session/shorthand"
)

func describeRepeats(l shorthand.Lot) string { return fmt.Sprint(l.Readings.Repeats) }

// lots draws any lot that can be: parts never over their wholes.
func lots() *rapid.Generator[shorthand.Lot] {
	decimals := func(label string, low, high grading.Decimal) *rapid.Generator[grading.Decimal] {
		return rapid.Custom(func(t *rapid.T) grading.Decimal {
			places := rapid.IntRange(0, 4).Draw(t, label+" places")
			return grading.Decimal(rapid.Int64Range(int64(low), int64(high)).Draw(t, label)).Round(places)
		})
	}
	return rapid.Custom(func(t *rapid.T) shorthand.Lot {
		var l shorthand.Lot
		l.Grower.Short = rapid.IntRange(0, 99).Draw(t, "short")
		l.Grower.Name = rapid.SampledFrom([]string{"", "Asha", "Asha wa Juma", "Fatou Diop", "Ng'ombe Otieno"}).Draw(t, "name")
		for range rapid.IntRange(0, 5).Draw(t, "repeats") {
			l.Readings.Repeats = append(l.Readings.Repeats, decimals("moisture", 5*grading.One, 40*grading.One).Draw(t, "m"))
		}
		part := func(f grading.Field, low, high grading.Decimal) {
			if rapid.Bool().Draw(t, f.String()) {
				d := decimals(f.String(), low, high).Draw(t, "value")
				if f.Kind() == grading.CountField {
					d = d.Round(0)
				}
				l.Readings.Set(f, d)
			} else if rapid.IntRange(0, 3).Draw(t, "unable") == 0 {
				l.Unable = append(l.Unable, f)
			}
		}
		part(grading.SampleWeight, 100*grading.One, 200*grading.One)
		part(grading.Chaff, 0, 20*grading.One)
		part(grading.Stones, 0, 20*grading.One)
		part(grading.CleanWeight, 70*grading.One, 90*grading.One)
		part(grading.BrownWeight, 40*grading.One, 60*grading.One)
		part(grading.ImmatureWeight, 0, 9*grading.One)
		part(grading.Counted, 100*grading.One, 400*grading.One)
		for _, f := range append(grading.AskedOn("pan"), grading.AskedOn("insects")...) {
			part(f, 0, 99*grading.One)
		}
		if rapid.IntRange(0, 3).Draw(t, "by hand") == 0 {
			l.Readings, l.Unable = grading.Readings{Hand: grading.Hand{Grains: 200, Empty: 12, Stones: 1, Green: 6}}, nil
			if rapid.Bool().Draw(t, "husked") {
				l.Readings.Hand = grading.Hand{Grains: 400, Green: 11, Husked: 60, Red: 4, Discoloured: 1}
			}
			l.Bite, l.Salt = rapid.IntRange(0, 4).Draw(t, "bite"), rapid.IntRange(0, 2).Draw(t, "salt")
		}
		l.Bags = rapid.IntRange(0, 5000).Draw(t, "bags")
		if l.Bags > 0 && rapid.Bool().Draw(t, "has bag kg") {
			l.BagKG = decimals("bag kg", 20*grading.One, 150*grading.One).Draw(t, "kg")
		} else if rapid.Bool().Draw(t, "has kg") {
			l.KG = decimals("lot kg", 200*grading.One, 90000*grading.One).Draw(t, "kg")
		}
		if rapid.Bool().Draw(t, "flagged") {
			l.Readings.Flags = []grading.Flag{grading.Musty, grading.Warm}
		}
		l.Slip = rapid.SampledFrom([]string{"", "K7M2QX9", "2222X22", "ABCDE2F", "X2X2X2X"}).Draw(t, "slip")
		return l
	})
}

// What Render writes, Parse reads back to the same lot, in every language.
func TestRenderedLotsAreReadBack(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range cat.Languages() {
		reader := shorthand.NewReader(cat, lang)
		t.Run(lang, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				lot := lots().Draw(t, "lot")
				text := reader.Render(lot)
				m, problems := reader.Parse(text)
				if lot.Empty() && len(m.Lots) == 0 && len(problems) == 0 {
					return
				}
				if len(problems) > 0 || len(m.Lots) != 1 || describeLot(m.Lots[0]) != describeLot(lot) {
					t.Fatalf("%q\nwant %s\ngot  %s", text, describeLot(lot), describe(m, problems))
				}
			})
		})
	}
}

// The order of the items changes nothing.
func TestOrderDoesNotMatter(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range cat.Languages() {
		reader := shorthand.NewReader(cat, lang)
		var items []string
		for _, f := range grading.Fields() {
			items = append(items, reader.Example(f.String()))
		}
		items = append(items, reader.Example("bags"), reader.Example("grower"), reader.Example("slip"))
		want, _ := reader.Parse(strings.Join(items, " "))
		rapid.Check(t, func(t *rapid.T) {
			shuffled := rapid.Permutation(items).Draw(t, "order")
			m, problems := reader.Parse(strings.Join(shuffled, " "))
			if len(problems) > 0 || describe(m, nil) != describe(want, nil) {
				t.Fatalf("%s: %q\nwant %s\ngot %s", lang, shuffled, describe(want, nil), describe(m, problems))
			}
		})
	}
}

// Several growers in one message come out in their order.
func TestManyGrowers(t *testing.T) {
	cat := catalogue(t)
	for _, lang := range cat.Languages() {
		reader := shorthand.NewReader(cat, lang)
		for _, between := range []string{"\n", "; ", " "} {
			var parts, want []string
			for i := 1; i <= 12; i++ {
				l := shorthand.Lot{Grower: shorthand.Grower{Short: i}}
				l.Readings.Repeats = []grading.Decimal{grading.NewDecimal(12 + i%5), grading.NewDecimal(13)}
				l.Readings.Set(grading.SampleWeight, grading.NewDecimal(20))
				parts, want = append(parts, reader.Render(l)), append(want, describeLot(l))
			}
			m, problems := reader.Parse(strings.Join(parts, between))
			var got []string
			for _, l := range m.Lots {
				got = append(got, describeLot(l))
			}
			if len(problems) > 0 || !slices.Equal(got, want) {
				t.Errorf("%s with %q: %v, problems %v", lang, between, got, problems)
			}
		}
	}
}
