package ledger_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
)

// history invents a ledger's life: checks by three tables, one of them not
// known, corrections, withdrawals and re-checks. writes are all states in the
// order they were written, last the state of each check in the end, by position.
func history(t testing.TB, seed uint64, n int) (writes, last []session.Check, known []*grading.Standard) {
	t.Helper()
	hand, agmark := newSeason(t, seed, "mbuyu-hand", 7), newSeason(t, seed+1, "agmark-paddy", 7)
	rng := rand.New(rand.NewPCG(seed, 3))
	var all []session.Check
	position := uint64(0)
	write := func(c session.Check) {
		position++
		c.Position = position
		writes = append(writes, c)
	}
	for i := range n {
		m := hand
		if rng.IntN(4) == 0 {
			m = agmark
		}
		c := m.check(t)
		c.Slip = session.Slip(fmt.Sprintf("K%05d", i))
		if i%17 == 0 {
			c.Slip = session.Slip(fmt.Sprintf("a long slip %d", i))
		}
		lacking(t, m, rng, &c)
		if rng.IntN(9) == 0 {
			c.StandardID, c.Edition = "unheard-of", "1"
		}
		switch kind := rng.IntN(10); {
		case kind < 2 && i > 0: // a re-check, of whatever was filed before, by whomever
			c.Recheck = all[rng.IntN(i)].Slip
			if i%3 == 0 { // another sample, taken together with the first
				c.Sample = c.Readings.Clone()
			}
		case kind == 2 && i > 0: // a correction
			old := all[rng.IntN(i)]
			if old.State != session.Filed {
				break
			}
			c.Recheck = old.Recheck
			write(c)
			old.State, old.ReplacedBy = session.Corrected, c.Slip
			write(old)
			all = replaced(all, old)
			all = append(all, c)
			continue
		case kind == 3 && i > 0:
			old := all[rng.IntN(i)]
			if old.State == session.Filed {
				old.State = session.Withdrawn
				write(old)
				all = replaced(all, old)
			}
		}
		write(c)
		all = append(all, c)
	}
	seen := map[session.Slip]bool{}
	for _, c := range slices.Backward(writes) {
		if !seen[c.Slip] {
			last = append(last, c)
		}
		seen[c.Slip] = true
	}
	slices.Reverse(last)
	return writes, last, []*grading.Standard{hand.s, agmark.s}
}

func replaced(all []session.Check, c session.Check) []session.Check {
	i := slices.IndexFunc(all, func(o session.Check) bool { return o.Slip == c.Slip })
	all[i] = c
	return all
}

// lacking takes readings out of a check, or gives it odd ones.
func lacking(t testing.TB, m *season, rng *rand.Rand, c *session.Check) {
	t.Helper()
	switch rng.IntN(12) {
	case 0:
		for _, f := range grading.FieldsOf(grading.Pan) {
			c.Readings.Unset(f)
		}
	case 1:
		c.Readings.Repeats = nil
	case 2:
		c.Readings.Values = map[grading.ParameterID]grading.Decimal{"moisture": grading.Decimal(120000 + rng.IntN(80000))}
	case 3:
		c.Lot.District, c.Lot.Village = "", ""
	case 4:
		c.At = c.At.Add(time.Duration(rng.IntN(3600)) * time.Second)
	}
	m.judge(t, c)
	if rng.IntN(40) == 0 { // a value that no column has room for
		c.Values["moisture"] = 90000 * grading.One
	}
}
