package programme_test

import (
	"testing"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// TestALotThatIsCheckedAgainIsOneLot: red twice in one lot is not red in two.
func TestALotThatIsCheckedAgainIsOneLot(t *testing.T) {
	at := time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)
	check := func(slip, before session.Slip, hours int) session.Check {
		return session.Check{Slip: slip, Recheck: before, State: session.Filed, At: at.Add(time.Duration(hours) * time.Hour), Deciding: []grading.ParameterID{"red"}, Rank: hours}
	}
	gone := check("W", "", 2)
	gone.State = session.Withdrawn
	counted := check("H", "", 5)
	counted.Readings.Hand = grading.Hand{Grains: 200}
	checks := []session.Check{check("C", "B", 6), counted, check("D", "", 5), check("B", "A", 4), check("Y", "X", 3), gone, check("A", "", 1), check("X", "", 0)}
	for _, c := range []struct {
		name  string
		hours int
		own   []session.Slip
		ranks []int
	}{
		{"another lot", 7, nil, []int{6, 5, 3}},
		{"the third check of A's lot", 7, []session.Slip{"C"}, []int{5, 3}},
		{"before the last", 6, nil, []int{5, 4, 3}},
		{"a correction of D", 7, []session.Slip{"", "D"}, []int{6, 3}},
	} {
		got := programme.Past(checks, at.Add(time.Duration(c.hours)*time.Hour), c.own...)
		same := len(got) == len(c.ranks)
		for i := 0; same && i < len(got); i++ {
			same = got[i].Rank == c.ranks[i]
		}
		if !same {
			t.Errorf("%s: %+v, want %v", c.name, got, c.ranks)
		}
	}
}
