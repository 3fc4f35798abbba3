package ledger_test

import (
	"fmt"
	"runtime"
	"testing"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
)

var sizes = []int{1_000, 10_000, 100_000, 1_000_000}

// filled makes a ledger of n invented checks, applied as they are read from a
// store, and says how much memory each takes.
func filled(b *testing.B, n int) (*ledger.Ledger, float64) {
	b.Helper()
	m := newSeason(b, 11, "mbuyu-hand", 300)
	l := ledger.New(ledger.Settings{Standards: []*grading.Standard{m.s}, Advice: prices()})
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	page := make([]session.Check, 0, 1000)
	for i := range n {
		if page = append(page, m.check(b)); len(page) == cap(page) || i == n-1 {
			l.Apply(page...)
			page = page[:0]
		}
	}
	clear(page[:cap(page)])
	runtime.GC()
	runtime.ReadMemStats(&after)
	return l, float64(after.HeapAlloc-before.HeapAlloc) / float64(n)
}

func prices() advice.Settings {
	return advice.Settings{Prices: map[grading.GradeLabel]grading.Decimal{
		"Grade 1": grading.NewDecimal(52), "Grade 2": grading.NewDecimal(46), "Grade 3": grading.NewDecimal(40),
	}, OutPrice: grading.NewDecimal(30), DayWage: grading.NewDecimal(80)}
}

// BenchmarkSummary reads a whole season together, by filters that choose all
// of it, a part, and one agent's.
func BenchmarkSummary(b *testing.B) {
	filters := []struct {
		name string
		f    ledger.Filter
	}{
		{"all", ledger.Filter{}},
		{"month", ledger.Filter{From: startOfSeason, To: startOfSeason.AddDate(0, 0, 30)}},
		{"district", ledger.Filter{Districts: []string{"Kisima"}, Kind: ledger.LastCheck}},
		{"deciding", ledger.Filter{Deciding: "moisture"}},
		{"agent", ledger.Filter{Agent: "a017"}},
	}
	for _, n := range sizes {
		l, each := filled(b, n)
		for _, f := range filters {
			b.Run(fmt.Sprintf("checks=%d/%s", n, f.name), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					l.View().Summary(f.f)
				}
				b.ReportMetric(each, "B/check")
			})
		}
	}
}

// BenchmarkApply files checks in pages, as at start, and one at a time, as they
// come; and corrects one.
func BenchmarkApply(b *testing.B) {
	m := newSeason(b, 12, "mbuyu-hand", 300)
	checks := make([]session.Check, 200_000)
	for i := range checks {
		checks[i] = m.check(b)
	}
	for _, page := range []int{1, 1000} {
		b.Run(fmt.Sprintf("page=%d", page), func(b *testing.B) {
			b.ReportAllocs()
			l := ledger.New(ledger.Settings{Standards: []*grading.Standard{m.s}})
			for i := 0; b.Loop(); i += page {
				if i+page > len(checks) {
					i, l = 0, ledger.New(ledger.Settings{Standards: []*grading.Standard{m.s}})
				}
				l.Apply(checks[i : i+page]...)
			}
		})
	}
	b.Run("correct", func(b *testing.B) {
		l := ledger.New(ledger.Settings{Standards: []*grading.Standard{m.s}})
		l.Apply(checks...)
		for i := 0; b.Loop(); i++ {
			c := checks[i%len(checks)]
			c.State, c.Position = session.Withdrawn, uint64(len(checks)+i)
			l.Apply(c)
		}
	})
}

// BenchmarkQuality tests all reports of a season.
func BenchmarkQuality(b *testing.B) {
	for _, n := range sizes {
		l, _ := filled(b, n)
		b.Run(fmt.Sprintf("checks=%d", n), func(b *testing.B) {
			for b.Loop() {
				l.View().Quality()
			}
		})
	}
}

// BenchmarkWhatIf is the first what-if of a season, which grades every lot
// after every remedy, and one after it.
func BenchmarkWhatIf(b *testing.B) {
	for _, n := range sizes {
		l, _ := filled(b, n)
		once := false
		b.Run(fmt.Sprintf("checks=%d/first", n), func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				if once {
					l, _ = filled(b, n)
				}
				once = true
				b.StartTimer()
				l.View().WhatIf(ledger.Filter{})
			}
		})
		b.Run(fmt.Sprintf("checks=%d/again", n), func(b *testing.B) {
			for b.Loop() {
				l.View().WhatIf(ledger.Filter{})
			}
		})
	}
}
