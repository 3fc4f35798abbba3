package sampling_test

import (
	"errors"
	"testing"

	"threshline/grading"
	"threshline/grading/sampling"
)

// TestAPlanForEachPurpose: seed by the rule made for seed [AOSA-SAMPLING], an
// authority's sample by the authority's own [INDIA-STACK]; for buying never fewer
// bags than either rule that was read [AOAC-FEED], [AOSA-SAMPLING]; none recalled.
func TestAPlanForEachPurpose(t *testing.T) {
	plan := func(p sampling.Purpose) sampling.Plan {
		got, err := sampling.For(p)
		if err != nil || got.Status == grading.FromMemory {
			t.Fatalf("%s: %+v, %v", p, got, err)
		}
		return got
	}
	seed, official, buying := plan(sampling.Seed), plan(sampling.Official), plan(sampling.Buying)
	if seed.ID != "five-and-tenth" || official.ID != "stack" || buying.ID != sampling.Default || len(sampling.Purposes()) != 3 {
		t.Errorf("seed by %s, official by %s, buying by %s", seed.ID, official.ID, buying.ID)
	}
	feed, err := sampling.ByID("ten")
	if err != nil {
		t.Fatal(err)
	}
	for bags := 1; bags <= 3000; bags++ {
		n := buying.Count(bags)
		if want := max(seed.Count(bags), feed.Count(bags)); n != want || n > official.Count(bags) {
			t.Fatalf("buying %d bags: spear %d; seed %d, feed %d, official %d", bags, n, seed.Count(bags), feed.Count(bags), official.Count(bags))
		}
	}
	if usual, err := sampling.For(""); err != nil || usual.ID != buying.ID {
		t.Errorf("no purpose: %s, %v", usual.ID, err)
	}
	if _, err := sampling.For("fun"); !errors.Is(err, sampling.ErrPlan) {
		t.Errorf("unknown purpose: %v", err)
	}
	if c, err := sampling.Choose("root", sampling.Seed); err != nil || c.Plan.ID != "root" || c.Purpose != "" {
		t.Errorf("a plan that is named: %+v, %v", c, err)
	}
}
