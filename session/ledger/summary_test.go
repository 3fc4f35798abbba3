package ledger_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/ledger/figure"
)

// facts writes a summary as slow does.
func facts(s ledger.Summary) (lines []string) {
	say := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	say("checks %d corrected %d withdrawn %d", s.Checks, s.Corrected, s.Withdrawn)
	say("kg %s weighed %d", s.KG, s.Weighed)
	say("in grade %d best %d borderline %d incomplete %d of %d", s.InGrade.Count, s.Best.Count, s.Borderline.Count, s.Incomplete.Count, s.InGrade.Of)
	for _, g := range s.Grades {
		if g.Share.Count > 0 {
			say("grade %s|%s|%02d|%d|%s: %d of %d, %s kg", g.Standard, g.Edition, g.Rank, g.Of, g.Label, g.Share.Count, g.Share.Of, g.KG)
		}
	}
	for _, t := range s.Deciding {
		say("deciding %s %s: %d, alone %d, %s kg", t.Standard, t.Key, t.Share.Count, t.Alone, t.KG)
	}
	for _, t := range s.Missing {
		say("missing %s %s: %d, alone %d, %s kg", t.Standard, t.Key, t.Share.Count, t.Alone, t.KG)
	}
	for _, t := range s.Gates {
		say("gate %s %s: %d, alone %d, %s kg", t.Standard, t.Key, t.Share.Count, t.Alone, t.KG)
	}
	for _, t := range s.Remedies {
		say("remedy %s %s: %d, alone %d, %s kg", t.Standard, t.Key, t.Share.Count, t.Alone, t.KG)
	}
	group := func(what string, list []ledger.Group) {
		for _, g := range list {
			if g.Checks == 0 {
				continue // a week without checks
			}
			key := g.Key
			if what == "village" {
				key = g.Within + "/" + g.Key
			}
			say("%s %s: %d checks %d lots %s kg, %d in grade, %d best, %d borderline, %d incomplete", what, key, g.Checks, g.Lots, g.KG,
				g.InGrade.Count, g.Best.Count, g.Borderline, g.Incomplete)
		}
	}
	group("week", s.Weeks)
	group("district", s.Districts)
	group("village", s.Villages)
	group("agent", s.Agents)
	group("variety", s.Varieties)
	group("channel", s.Channels)
	for _, d := range s.Parameters {
		say("%s %s %s: %d mean %.6f from %s to %s, %s %s %s %s %s", d.Standard, d.Edition, d.Parameter, d.Measured.Count, d.Mean,
			d.Min, d.Max, d.P5, d.P25, d.Median, d.P75, d.P95)
	}
	r := s.Rechecks
	say("re-checks %d: %d better %d same %d worse, %d steps, %d weighed %s kg lighter", r.Pairs, r.Better, r.Same, r.Worse,
		int(math.Round(r.Steps*float64(r.Compared))), r.Weighed, r.KG)
	for _, m := range r.Moves {
		say("moved %s %s to %s: %d", s.Grades[m.From].Standard, s.Grades[m.From].Label, s.Grades[m.To].Label, m.Lots)
	}
	for _, m := range r.Measured {
		say("changed %s %s: %d, %d fell %d rose, %.6f to %.6f", m.Standard, m.Parameter, m.Pairs, m.Fell, m.Rose, m.Before, m.After)
	}
	slices.Sort(lines)
	return lines
}

// manyFilters are filters that choose by each criterion, and random ones by several.
func manyFilters(rng *rand.Rand) []ledger.Filter {
	day := func(n int) time.Time { return startOfSeason.AddDate(0, 0, n) }
	list := []ledger.Filter{
		{}, {From: day(20)}, {To: day(20)}, {From: day(10), To: day(10)}, {Districts: []string{"Kisima", "Korongo"}},
		{Districts: []string{""}}, {Village: "Village 3"}, {Agent: "a002"}, {Reporter: "a003"}, {Grower: "g001-05"}, {Variety: "Supa"},
		{Standard: "mbuyu-hand"}, {Standard: "unheard-of"}, {Edition: "demonstration"}, {Grade: "Grade 2"}, {Deciding: "moisture"},
		{Gate: "live_insects"}, {Remedy: advice.DrySun}, {Channel: "valley-sms"}, {Kind: ledger.FirstCheck}, {Kind: ledger.ReCheck},
		{Kind: ledger.LastCheck}, {State: ledger.WasCorrected}, {State: ledger.WasWithdrawn}, {State: ledger.AnyState},
		{OnlyBorderline: true}, {OnlyLacking: true}, {Agent: "nobody"}, {Variety: "none such"}, {From: day(400)},
	}
	for range 20 {
		f := ledger.Filter{Kind: ledger.Kind(rng.IntN(4)), State: ledger.State(rng.IntN(4))}
		if rng.IntN(2) == 0 {
			f.From, f.To = day(rng.IntN(40)), day(30+rng.IntN(40))
		}
		if rng.IntN(2) == 0 {
			f.Districts = []string{districts[rng.IntN(4)], districts[rng.IntN(4)]}
		}
		if rng.IntN(3) == 0 {
			f.Deciding = []grading.ParameterID{"moisture", "red", "foreign_matter"}[rng.IntN(3)]
		}
		list = append(list, f)
	}
	return list
}

func dar(t testing.TB) *time.Location { return time.FixedZone("EAT", 3*3600) }

func TestASummarySaysWhatTheChecksSayOneByOne(t *testing.T) {
	seed := uint64(time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC).Unix())
	for round := range 4 {
		seed := seed + uint64(round)
		t.Logf("seed %d", seed)
		writes, last, known := history(t, seed, []int{1, 40, 300, 700}[round])
		l := ledger.New(ledger.Settings{Zone: dar(t), Standards: known})
		rng := rand.New(rand.NewPCG(seed, 9))
		for rest := writes; len(rest) > 0; {
			n := min(len(rest), 1+rng.IntN(90))
			l.Apply(rest[:n]...)
			rest = rest[n:]
		}
		second := newSlow(last, known, dar(t))
		for _, f := range manyFilters(rng) {
			if diff := cmp.Diff(second.facts(&f), facts(l.View().Summary(f))); diff != "" {
				t.Fatalf("filter %+v (- one by one, + ledger):\n%s", f, diff)
			}
		}
	}
}

func TestTheOrderOfFilingChangesNothing(t *testing.T) {
	const seed = 71
	t.Logf("seed %d", seed)
	writes, last, known := history(t, seed, 5000)
	rng := rand.New(rand.NewPCG(seed, 1))
	mixed := slices.Clone(writes)
	rng.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	whole := ledger.New(ledger.Settings{Standards: known, Workers: 1})
	whole.Apply(last...)
	want, wanted := whole.View().Summary(ledger.Filter{}), whole.View().WhatIf(ledger.Filter{})
	if want.Checks < 3000 || want.Corrected == 0 || want.Withdrawn == 0 || want.Rechecks.Compared == 0 {
		t.Fatalf("%d checks, %d corrected, %d withdrawn, %d re-checks: too few to tell", want.Checks, want.Corrected, want.Withdrawn, want.Rechecks.Compared)
	}
	for name, list := range map[string][]session.Check{"every state": writes, "in any order": mixed} {
		l := ledger.New(ledger.Settings{Standards: known, Workers: 3})
		for _, c := range list {
			l.Apply(c)
		}
		if got := l.View().Summary(ledger.Filter{}); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %s", name, cmp.Diff(want, got))
		}
		if got := l.View().WhatIf(ledger.Filter{}); !reflect.DeepEqual(got, wanted) {
			t.Errorf("%s: what if: %s", name, cmp.Diff(wanted, got))
		}
		if l.View().Len() != len(last) || l.View().Position() != writes[len(writes)-1].Position {
			t.Errorf("%s: %d checks up to %d", name, l.View().Len(), l.View().Position())
		}
	}
}

func TestAViewStaysWhatItWas(t *testing.T) {
	writes, _, known := history(t, 5, 800)
	l := ledger.New(ledger.Settings{Standards: known})
	l.Apply(writes[:500]...)
	view := l.View()
	want := view.Summary(ledger.Filter{})
	done := make(chan bool)
	go func() {
		defer close(done)
		for _, c := range writes[500:] {
			l.Apply(c)
			l.View().WhatIf(ledger.Filter{Districts: []string{c.Lot.District}})
		}
	}()
	for range 40 {
		if got := view.Summary(ledger.Filter{}); !reflect.DeepEqual(got, want) {
			t.Fatal(cmp.Diff(want, got))
		}
		view.WhatIf(ledger.Filter{})
	}
	<-done
	if l.View().Summary(ledger.Filter{}).Checks == want.Checks {
		t.Error("nothing was filed meanwhile")
	}
}

func TestAnOlderStateComingLateChangesNothing(t *testing.T) {
	m := newSeason(t, 3, "mbuyu-hand", 2)
	c := m.check(t)
	l := ledger.New(ledger.Settings{Standards: []*grading.Standard{m.s}})
	gone := c
	gone.State, gone.Position = session.Withdrawn, c.Position+5
	l.Apply(c, gone, c)
	if s := l.View().Summary(ledger.Filter{}); s.Checks != 0 || s.Withdrawn != 1 {
		t.Errorf("%d checks, %d withdrawn, want none and one", s.Checks, s.Withdrawn)
	}
}

// TestShares holds exact intervals against printed ones: 0, 1 and 5 of 100 are
// in the tables of Clopper and Pearson's interval that the equations of
// [NIST-PRC242] give; no checks at all say nothing.
func TestShares(t *testing.T) {
	for _, c := range []struct {
		share     figure.Share
		low, high float64
	}{
		{figure.Share{Count: 0, Of: 100}, 0, 0.0362}, {figure.Share{Count: 1, Of: 100}, 0.00025, 0.0545},
		{figure.Share{Count: 5, Of: 100}, 0.0164, 0.1128}, {figure.Share{Count: 10, Of: 100}, 0.0490, 0.1762}, {figure.Share{}, 0, 1},
	} {
		low, high := c.share.Interval()
		if math.Abs(low-c.low) > 6e-5 || math.Abs(high-c.high) > 6e-5 {
			t.Errorf("%d of %d: %.5f to %.5f, want %.4f to %.4f", c.share.Count, c.share.Of, low, high, c.low, c.high)
		}
	}
}

func TestBinsHoldEveryValueOnce(t *testing.T) {
	_, last, known := history(t, 8, 600)
	l := ledger.New(ledger.Settings{Standards: known})
	l.Apply(last...)
	for _, d := range l.View().Summary(ledger.Filter{}).Parameters {
		for _, most := range []int{1, 7, 24, 100000} {
			bins, n := d.Bins(most), 0
			for i, b := range bins {
				n += b.Lots
				if i > 0 && (b.From != bins[i-1].To || b.First <= bins[i-1].Last) {
					t.Errorf("%s: a gap or an overlap before %s", d.Parameter, b.From)
				}
				inside := 0
				step := grading.One
				for range d.Decimals {
					step /= 10
				}
				for _, v := range d.Values {
					first, last := b.First, b.Last
					if v.Value%step != 0 { // shown finer, beside a limit
						first, last = b.From, b.To
					}
					if v.Value >= first && v.Value <= last {
						inside += v.Lots
					}
				}
				if inside != b.Lots {
					t.Errorf("%s %s to %s: %d lots, want %d", d.Parameter, b.From, b.To, b.Lots, inside)
				}
			}
			for _, l := range d.Limits { // what meets a limit is drawn on its side of it
				for _, b := range bins {
					if m := l.Bound.Max; m != nil && !l.Bound.MaxExclusive && b.From >= *m && b.First <= *m ||
						m != nil && l.Bound.MaxExclusive && b.To <= *m && b.Last >= *m {
						t.Errorf("%s: %s to %s lies beyond %s, which it meets, or short of one that it misses", d.Parameter, b.First, b.Last, m)
					}
					if m := l.Bound.Min; m != nil && !l.Bound.MinExclusive && b.To <= *m && b.Last >= *m {
						t.Errorf("%s: %s to %s lies short of %s, which it meets", d.Parameter, b.First, b.Last, m)
					}
				}
			}
			if n != d.Measured.Count || len(bins) > most {
				t.Errorf("%s: %d bins of at most %d hold %d of %d", d.Parameter, len(bins), most, n, d.Measured.Count)
			}
		}
	}
}
