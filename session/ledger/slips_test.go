package ledger_test

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/ledger"
)

// TestALongSeasonIsListedNewestFirst lists more checks than one stretch of
// columns holds: filed about in order, many in the same second, some late by
// days, some under slips of another length.
func TestALongSeasonIsListedNewestFirst(t *testing.T) {
	const seed, n = 29, 10_000
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	m := newSeason(t, seed, "mbuyu-hand", 5)
	one := m.check(t)
	checks := make([]session.Check, n)
	for i := range checks {
		c := one
		c.Slip, c.Position = session.Slip(fmt.Sprintf("T%05d", rng.IntN(90_000)*10+i%10)[:5+i%2]+fmt.Sprintf("%03d", i%1000)), uint64(i+1)
		if rng.IntN(20) == 0 {
			c.Slip += "-handwritten"
		}
		c.At = startOfSeason.Add(time.Duration(i/3) * time.Second)
		if rng.IntN(50) == 0 {
			c.At = c.At.Add(-time.Duration(rng.IntN(4000)) * time.Second)
		}
		checks[i] = c
	}
	l := ledger.New(ledger.Settings{})
	l.Apply(checks...)
	for i := range 500 { // brought up to date, so that two of one slip are one check
		c := &checks[rng.IntN(n)]
		c.State, c.Position = session.Withdrawn, uint64(n+i+1)
		l.Apply(*c)
	}
	byName := map[session.Slip]session.Check{}
	for _, c := range checks {
		if c.Position >= byName[c.Slip].Position {
			byName[c.Slip] = c
		}
	}
	var left []session.Check
	for _, c := range byName {
		if c.State == session.Filed {
			left = append(left, c)
		}
	}
	slices.SortFunc(left, func(a, b session.Check) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip)) })
	place := 0
	for slip := range l.View().Slips(ledger.Filter{}) {
		if place == len(left) || slip != left[place].Slip {
			t.Fatalf("place %d of %d: %s", place, len(left), slip)
		}
		place++
	}
	if place != len(left) || place < n/2 {
		t.Errorf("%d slips, want %d", place, len(left))
	}
}

// BenchmarkSlips lists a page of lots, the newest first, and one after half of
// them: of checks filed in the order of their time, and of such in no order.
func BenchmarkSlips(b *testing.B) {
	for _, n := range sizes {
		for _, order := range []string{"ordered", "unordered"} {
			l := dated(b, n, order == "ordered")
			for name, skip := range map[string]int{"first": 0, "middle": n / 2} {
				b.Run(fmt.Sprintf("checks=%d/%s/%s", n, order, name), func(b *testing.B) {
					b.ReportAllocs()
					for b.Loop() {
						left := skip + 51
						for range l.View().Slips(ledger.Filter{}) {
							if left--; left == 0 {
								break
							}
						}
					}
				})
			}
		}
	}
}

// dated makes a ledger of n checks, in the order of their time or in none.
func dated(b *testing.B, n int, ordered bool) *ledger.Ledger {
	b.Helper()
	rng := rand.New(rand.NewPCG(3, 1))
	one := newSeason(b, 3, "mbuyu-hand", 5).check(b)
	l := ledger.New(ledger.Settings{})
	page := make([]session.Check, 0, 1000)
	for i := range n {
		second := i
		if !ordered {
			second = rng.IntN(n)
		}
		one.Slip, one.Position = session.Slip(fmt.Sprintf("S%06X", i)), uint64(i+1)
		one.At = startOfSeason.Add(time.Duration(second) * 6 * time.Second)
		if page = append(page, one); len(page) == cap(page) || i == n-1 {
			l.Apply(page...)
			page = page[:0]
		}
	}
	return l
}
