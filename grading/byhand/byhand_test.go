package byhand_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/grading/standard/standardtest"
)

func table(t testing.TB, id string) *grading.Standard {
	t.Helper()
	s, err := standardtest.ByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func likely(t *testing.T, id string, h grading.Hand, flags ...grading.Flag) byhand.Likely {
	t.Helper()
	s := table(t, id)
	l, err := byhand.Assess(s, &grading.Readings{Hand: h, Looked: grading.WasLooked, Flags: flags}, byhand.Options{Bags: 12})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

var (
	good   = grading.Hand{Grains: 200, Empty: 3, Green: 1, Husked: 50, Red: 1, Handfuls: 3}
	chaffy = grading.Hand{Grains: 200, Empty: 40, Green: 2, Husked: 50, Red: 1, Handfuls: 3}
	red    = grading.Hand{Grains: 200, Empty: 3, Green: 1, Husked: 50, Red: 12, Handfuls: 3}
)

// TestTheChancesAreAWhole: they sum to 1, the run holds what it says, and the same
// counts always give the same answer.
func TestTheChancesAreAWhole(t *testing.T) {
	for _, id := range []string{"agmark-paddy", "mbuyu-hand"} {
		for _, h := range []grading.Hand{good, chaffy, red} {
			l := likely(t, id, h)
			for _, chances := range [][]float64{l.Chances, l.OnceDry} {
				sum := 0.0
				for _, c := range chances {
					sum += c
				}
				if math.Abs(sum-1) > 1e-9 {
					t.Errorf("%s %+v: chances sum to %v", id, h, sum)
				}
			}
			before := 0.0
			if l.From > 1 {
				before = l.OrBetter(l.From - 1)
			}
			if got := l.OrBetter(l.To) - before; math.Abs(got-l.Chance) > 1e-9 || l.Chance < byhand.Enough {
				t.Errorf("%s %+v: grades %d to %d hold %v, stated %v", id, h, l.From, l.To, got, l.Chance)
			}
			if again := likely(t, id, h); !reflect.DeepEqual(l, again) {
				t.Errorf("%s %+v: another answer the second time", id, h)
			}
		}
	}
}

func share(t *testing.T, l *byhand.Likely, id grading.ParameterID) byhand.Share {
	t.Helper()
	for _, s := range l.Shares {
		if s.Parameter == id {
			return s
		}
	}
	t.Fatalf("no share of %s", id)
	return byhand.Share{}
}

// TestCountsMoveTheirOwnShares: more empty grains are more chaff, more red ones more
// red rice, and a lot with more of either is no better.
func TestCountsMoveTheirOwnShares(t *testing.T) {
	g, c, r := likely(t, "agmark-paddy", good), likely(t, "agmark-paddy", chaffy), likely(t, "agmark-paddy", red)
	if was, is := share(t, &g, "foreign_matter").Mean, share(t, &c, "foreign_matter").Mean; is < 2*was {
		t.Errorf("40 empty grains for 3: foreign matter from %v to %v %%", was, is)
	}
	if was, is := share(t, &g, "admixture").Mean, share(t, &r, "admixture").Mean; is < 2*was {
		t.Errorf("12 red grains for 1: admixture from %v to %v %%", was, is)
	}
	for rank := 1; rank <= 4; rank++ {
		if c.OrBetter(rank) > g.OrBetter(rank)+0.02 || r.OrBetter(rank) > g.OrBetter(rank)+0.02 {
			t.Errorf("a worse lot is likelier of grade %d or better", rank)
		}
	}
}

// TestOneHandfulSaysLessThanThree: the same counts from one bag leave more doubt.
func TestOneHandfulSaysLessThanThree(t *testing.T) {
	one := chaffy
	one.Handfuls = 1
	three, alone := likely(t, "agmark-paddy", chaffy), likely(t, "agmark-paddy", one)
	if a, b := share(t, &three, "foreign_matter").Deviation, share(t, &alone, "foreign_matter").Deviation; b <= a {
		t.Errorf("one handful leaves %v, three leave %v", b, a)
	}
}

// TestWaterByHandIsNeverDry: a lot felt wet is out of grade as it is, and the grades
// are stated for when it is dry.
func TestWaterByHandIsNeverDry(t *testing.T) {
	wet, not := likely(t, "agmark-paddy", good, grading.TooWet), likely(t, "agmark-paddy", good)
	if !wet.IfDry || wet.Chances[4] < 0.9 || wet.OnceDry[4] > 0.2 {
		t.Errorf("felt wet: as it is %.2f, once dry %.2f, if dry %v", wet.Chances, wet.OnceDry, wet.IfDry)
	}
	if not.Chances[4] < not.OnceDry[4]+0.05 {
		t.Errorf("not felt wet, the lot is taken for dry: %.2f and %.2f", not.Chances, not.OnceDry)
	}
}

func TestCountsThatCannotBeAreRefused(t *testing.T) {
	s := table(t, "agmark-paddy")
	if _, err := byhand.Assess(s, &grading.Readings{}, byhand.Options{}); !errors.Is(err, byhand.ErrNotCounted) {
		t.Errorf("no counts: %v", err)
	}
	var fault *grading.HandError
	if _, err := byhand.Assess(s, &grading.Readings{Hand: grading.Hand{Grains: 20, Husked: 50}}, byhand.Options{}); !errors.As(err, &fault) {
		t.Errorf("more husked than counted: %v", err)
	}
}

// TestAMeterBesideTheHandIsBelieved: 13 % by a checked meter leaves no doubt of the
// water, 16 % makes the lot out of grade until it is dry.
func TestAMeterBesideTheHandIsBelieved(t *testing.T) {
	by := func(moisture grading.Decimal) byhand.Likely {
		r := grading.Readings{Hand: good, Looked: grading.WasLooked, Meter: grading.Meter{Checked: true, Doubt: 1500}}
		r.Set(grading.Moisture, moisture)
		l, err := byhand.Assess(table(t, "agmark-paddy"), &r, byhand.Options{Bags: 12})
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	if dry := by(13 * grading.One); dry.IfDry || dry.Chances[4] > 0.1 {
		t.Errorf("13 %%: if dry %v, %.2f", dry.IfDry, dry.Chances)
	}
	wet := by(16 * grading.One)
	if wet.Chances[4] < 0.95 || !wet.IfDry {
		t.Errorf("16 %%: if dry %v, %.2f", wet.IfDry, wet.Chances)
	}
	if v, _ := wet.Lots[0].Get(grading.Moisture); v != 16*grading.One {
		t.Errorf("drawn lots have %v %% of water", v)
	}
}

// TestACountShowsWhatForetellsIt: from a share to a count and back is the same share,
// and each count carries what it lets its field be.
func TestACountShowsWhatForetellsIt(t *testing.T) {
	l := likely(t, "agmark-paddy", grading.Hand{Grains: 200, Empty: 20, Stones: 2, Green: 9, Husked: 50, Red: 5, Bored: 1, Discoloured: 2, Handfuls: 3})
	want := map[grading.Field]float64{
		// 20/0.95 pieces of 0.0065 g among 200, the rest full grains of 0.025 g.
		grading.Chaff: 100 * 0.0065 * 21.0526 / (0.0065*21.0526 + 0.025*178.9474),
		// 2/0.9 stones of 0.04 g beside 180 full grains and 20 pieces.
		grading.Stones: 100 * 0.04 * 2.2222 / (0.04*2.2222 + 180*0.025 + 20*0.0065),
		// 9/0.8 kernels of 0.6 among 180.
		grading.ImmatureWeight: 100 * 0.6 * 11.25 / (0.6*11.25 + 168.75),
		grading.Red:            10, grading.PestDamaged: 2, grading.Discoloured: 4,
	}
	if len(l.Counts) != len(want) {
		t.Fatalf("%d counts", len(l.Counts))
	}
	for _, c := range l.Counts {
		if math.Abs(c.Shows-want[c.Field]) > 0.001 {
			t.Errorf("%s shows %.4f %%, want %.4f", c.Field, c.Shows, want[c.Field])
		}
		if c.Mean <= 0 || c.Deviation <= 0 || c.Scatter <= 0 || math.Abs(c.Mean-c.Shows) > 3*c.Deviation {
			t.Errorf("%s: %+v", c.Field, c)
		}
	}
	if none := likely(t, "agmark-paddy", grading.Hand{Grains: 200}); len(none.Counts) != 3 || share(t, &none, "admixture").Counted {
		t.Errorf("nothing was husked, and yet: %+v", none.Counts)
	}
}

// TestAnyCountsThatCanBeAreAnswered: one grain or five thousand, half of them empty or
// all red, from any number of bags, by every kind of standard.
func TestAnyCountsThatCanBeAreAnswered(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	up := func(n uint16) uint16 {
		if most := []uint16{n, min(n, 3), 0}[r.IntN(3)]; most > 0 {
			return uint16(r.IntN(int(most) + 1))
		}
		return 0
	}
	ids := []string{"agmark-paddy", "mbuyu-hand", "in-kms", "inpres-3-2012", "fci-storage", "gb1350-indica", "us-rough-rice", "ph-paddy", "eu-1272-2009"}
	for range 300 {
		s := table(t, ids[r.IntN(len(ids))])
		h := grading.Hand{Grains: 1 + up(grading.MostByHand-1)}
		h.Empty = up(h.Grains / 2)
		h.Green = up(h.Grains - h.Empty)
		h.Stones = up(h.Grains)
		h.Husked = up(h.Grains - h.Empty)
		h.Red = up(h.Husked)
		h.Bored = up(h.Husked - h.Red)
		h.Discoloured = up(h.Husked - h.Red - h.Bored)
		h.Handfuls = up(40)
		readings := grading.Readings{Hand: h, Looked: grading.WasLooked}
		if len(s.Classes) > 0 {
			readings.Class = s.Classes[r.IntN(len(s.Classes))]
		}
		l, err := byhand.Assess(s, &readings, byhand.Options{Bags: int(up(60))})
		if err != nil {
			t.Fatalf("%s %+v: %v", s.ID, h, err)
		}
		if l.From < 1 || l.To < l.From || l.To > len(s.Grades)+1 || !(l.Chance >= byhand.Enough && l.Chance <= 1) {
			t.Errorf("%s %+v: %d to %d with %v", s.ID, h, l.From, l.To, l.Chance)
		}
		for _, c := range l.Counts {
			if !(c.Mean >= 0 && c.Mean < 100 && c.Deviation >= 0 && c.Shows >= 0 && c.Shows < 100.001) {
				t.Errorf("%s %+v: %+v", s.ID, h, c)
			}
		}
		for i := range l.Checks {
			if err := errors.Join(l.Checks[i].Check(), l.Lots[i].Check()); err != nil {
				t.Fatalf("%s %+v: a lot that cannot be: %v", s.ID, h, err)
			}
		}
	}
}
