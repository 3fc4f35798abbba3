package recent

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"threshline/session"
)

const asha session.PersonID = "asha"

// filed is a check of Asha's, so many minutes after the first.
func filed(minute int) session.Check {
	c := session.Check{Slip: session.Slip(fmt.Sprintf("S%d", minute)), At: time.Date(2026, time.March, 2, 6, minute, 0, 0, time.UTC)}
	c.Lot.Grower = asha
	return c
}

// slips are those of Asha's newest checks in a snapshot; stored is what the store lists,
// and nil where it is not to be asked.
func slips(t *testing.T, r *Records, n int, snapshot uint64, stored []session.Check) (slips []session.Slip) {
	t.Helper()
	list, err := r.Newest(asha, n, snapshot, func() ([]session.Check, error) {
		if stored == nil {
			return nil, errors.New("the store was asked")
		}
		return stored[:min(n, len(stored))], nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		slips = append(slips, c.Slip)
	}
	return slips
}

// file says that the write of a snapshot files a check.
func file(t *testing.T, r *Records, snapshot uint64, c session.Check) {
	t.Helper()
	r.WriteCheck(nil, &c, snapshot)
	if err := r.Wrote(asha, func() (session.Check, error) { return c, nil }); err != nil {
		t.Fatal(err)
	}
}

func TestAFiledCheckJoinsTheListThatIsHeld(t *testing.T) {
	r := NewRecords()
	slips(t, r, 3, 1, []session.Check{filed(9), filed(5), filed(3), filed(1)})
	r.Begin()
	file(t, r, 2, filed(6))
	file(t, r, 2, filed(4))
	r.Committed(2)
	if got := slips(t, r, 3, 2, nil); !slices.Equal(got, []session.Slip{"S9", "S6", "S5"}) {
		t.Errorf("held are %v", got)
	}
	if got := slips(t, r, 5, 2, []session.Check{filed(9)}); !slices.Equal(got, []session.Slip{"S9"}) {
		t.Errorf("more than were held are not read but %v", got)
	}
}

func TestAWriteThatFailedFilesNothing(t *testing.T) {
	r := NewRecords()
	before := []session.Check{filed(5)}
	slips(t, r, 3, 1, before)
	r.Begin()
	file(t, r, 2, filed(6)) // and the disk is full
	r.Begin()
	r.Committed(2)
	if got := slips(t, r, 3, 2, before); !slices.Equal(got, []session.Slip{"S5"}) {
		t.Errorf("held are %v", got)
	}
}

func TestAWriteOfAnythingLeavesNothing(t *testing.T) {
	r := NewRecords()
	stored := []session.Check{filed(5)}
	slips(t, r, 3, 1, stored)
	read := func() (session.Person, error) { return session.Person{ID: asha, Name: "Asha"}, nil }
	if _, err := r.Person("+33639985501", 1, read); err != nil {
		t.Fatal(err)
	}
	r.Begin()
	file(t, r, 2, filed(6))
	r.WriteAny(2)
	r.Committed(2)
	if n := len(r.people.young) + len(r.people.old) + len(r.checks.young) + len(r.checks.old); n != 0 {
		t.Errorf("%d are held", n)
	}
	if got := slips(t, r, 3, 2, stored); !slices.Equal(got, []session.Slip{"S5"}) {
		t.Errorf("held are %v", got)
	}
}

func TestNoChecksAreAskedFor(t *testing.T) {
	r := NewRecords()
	for _, n := range []int{-1, 0} {
		if list, err := r.Newest(asha, n, 1, func() ([]session.Check, error) { return nil, nil }); err != nil || len(list) > 0 {
			t.Errorf("%v, %v", list, err)
		}
	}
	if got := slips(t, r, 5, 1, []session.Check{filed(5)}); len(got) != 1 {
		t.Errorf("then there are %v", got)
	}
}
