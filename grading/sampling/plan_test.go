package sampling_test

import (
	"encoding/csv"
	"errors"
	"os"
	"slices"
	"strconv"
	"testing"

	"threshline/grading"
	"threshline/grading/sampling"
)

// TestBagsToSpear checks every row of the file against its plan.
func TestBagsToSpear(t *testing.T) {
	file, err := os.Open("../../testdata/sampling/bags.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	in := csv.NewReader(file)
	in.Comment = '#'
	in.FieldsPerRecord = 4
	in.LazyQuotes = true
	rows, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	tested := map[sampling.PlanID]int{}
	for _, row := range rows[1:] {
		plan, err := sampling.ByID(sampling.PlanID(row[0]))
		if err != nil {
			t.Fatal(err)
		}
		bags, want := number(t, row[1]), number(t, row[2])
		if got := plan.Count(bags); got != want {
			t.Errorf("%s: %d bags: spear %d, want %d (%s)", plan.ID, bags, got, want, row[3])
		}
		tested[plan.ID]++
	}
	for _, p := range sampling.Plans() {
		if tested[p.ID] == 0 {
			t.Errorf("no row for plan %s", p.ID)
		}
	}
}

func number(t *testing.T, text string) int {
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestPlansAreSound: never more than there are, never fewer from a larger lot,
// each with a source, and nothing recalled is the default.
func TestPlansAreSound(t *testing.T) {
	for _, p := range sampling.Plans() {
		last := 0
		for bags := range 5001 {
			n := p.Count(bags)
			if n > bags || bags > 0 && n < 1 {
				t.Fatalf("%s: %d of %d bags", p.ID, n, bags)
			}
			if n < last {
				t.Fatalf("%s: %d of %d bags, fewer than of one bag less", p.ID, n, bags)
			}
			last = n
		}
		if p.Source == "" || p.Title == "" || p.Status == "" {
			t.Errorf("%s lacks title, source or status", p.ID)
		}
		if p.Count(-3) != 0 {
			t.Errorf("%s: %d of -3 bags", p.ID, p.Count(-3))
		}
	}
	d, err := sampling.ByID("")
	if err != nil || d.ID != sampling.Default || d.Status == grading.FromMemory {
		t.Errorf("default plan: %+v, %v", d, err)
	}
	if _, err := sampling.ByID("guess"); !errors.Is(err, sampling.ErrPlan) {
		t.Errorf("unknown plan: %v", err)
	}
}

// TestEachBagHasTheSameChance: over all starts every bag is picked equally
// often; the bags of one pick differ and lie in the lot in order.
func TestEachBagHasTheSameChance(t *testing.T) {
	for _, lot := range [][2]int{{1, 1}, {7, 6}, {19, 10}, {23, 7}, {50, 10}, {301, 50}} {
		bags, count := lot[0], lot[1]
		times := make([]int, bags+1)
		for start := range bags {
			picked := sampling.From(bags, count, start)
			if len(picked) != count || !slices.IsSorted(picked) || len(slices.Compact(slices.Clone(picked))) != count {
				t.Fatalf("%d of %d from %d: %v", count, bags, start, picked)
			}
			if picked[0] < 1 || picked[count-1] > bags {
				t.Fatalf("%d of %d from %d: %v leaves the lot", count, bags, start, picked)
			}
			for _, bag := range picked {
				times[bag]++
			}
		}
		for bag := 1; bag <= bags; bag++ {
			if times[bag] != count {
				t.Errorf("%d of %d: bag %d picked from %d starts, want %d", count, bags, bag, times[bag], count)
			}
		}
	}
	if got := sampling.Pick(0, 5, 9); len(got) != 0 {
		t.Errorf("no bags: %v", got)
	}
	if got := sampling.Pick(3, 9, 1<<63); len(got) != 3 {
		t.Errorf("more than there are: %v", got)
	}
}

// TestTimesWillDoForEntropy: times a whole second or minute apart give every
// start, none much more often than another.
func TestTimesWillDoForEntropy(t *testing.T) {
	const bags, times = 10, 5000
	for _, apart := range []uint64{1, 1e9, 60e9} {
		firsts := map[int]int{}
		for i := range uint64(times) {
			firsts[sampling.Pick(bags, 1, 1_790_000_000e9+i*apart)[0]]++
		}
		for bag := 1; bag <= bags; bag++ {
			if n := firsts[bag]; n < times/bags*8/10 || n > times/bags*12/10 {
				t.Errorf("%d ns apart: bag %d first %d times of %d", apart, bag, n, times)
			}
		}
	}
}

// TestHeapByTens: one sample per 10 t, [EU-708-1998 Article 8].
func TestHeapByTens(t *testing.T) {
	for kg, rounds := range map[int]int{0: 1, 600: 1, 10000: 1, 10001: 2, 20000: 2, 45000: 5} {
		h := sampling.InHeap(grading.NewDecimal(kg))
		if h.Rounds != rounds || h.Spears() != rounds*15 {
			t.Errorf("%d kg: %d rounds, %d spears; want %d rounds", kg, h.Rounds, h.Spears(), rounds)
		}
	}
}
