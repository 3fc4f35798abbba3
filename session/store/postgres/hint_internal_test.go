package postgres

import (
	"context"
	"fmt"
	"testing"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// A turn that asks for the same check and the same grower's as the turn before is
// two round trips, and sees what others have changed meanwhile.
func TestATurnThatAsksTheSameAgainIsTwoRoundTrips(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	options := Options{CallersClock: true}
	s, other := at(t, server.URL("postgres"), options), at(t, server.URL("postgres"), options)
	for i := range 3 {
		if err := file(other, i); err != nil {
			t.Fatal(err)
		}
	}
	phone, turns := storetest.Phone(1), 0
	type seen struct {
		slip session.Slip
		bags int
		of   int
	}
	ask := func(slip session.Slip, n int) (got seen, trips int64) {
		t.Helper()
		turns++
		before := s.Rounds()
		key := session.Key{Phone: phone, Duplicate: fmt.Sprint("m", turns), KeepUntil: storetest.Begin}
		if _, err := s.Exchange(context.Background(), key, func(v session.View) (w session.Writes, err error) {
			d, err := v.Dialogue(phone)
			if err != nil {
				return w, err
			}
			got = seen{}
			if slip != "" {
				k, err := v.Check(slip)
				if err != nil && !is(err, session.ErrNotFound) {
					return w, err
				}
				got.slip, got.bags = k.Slip, k.Lot.Bags
				list, err := v.ChecksOf("g", n)
				if err != nil {
					return w, err
				}
				if got.of = len(list); got.of > 0 && list[0].Slip == "" {
					t.Error("a check without a slip")
				}
			}
			d.Screen, d.Page = "main", turns
			return session.Writes{Dialogue: &d}, nil
		}); err != nil {
			t.Fatal(err)
		}
		return got, s.Rounds() - before
	}
	hold := func(what string, slip session.Slip, n int, want seen, trips int64) {
		t.Helper()
		if got, made := ask(slip, n); got != want || made != trips {
			t.Errorf("%s: saw %+v by %d round trips, want %+v by %d", what, got, made, want, trips)
		}
	}
	one := storetest.Slip(1)
	bags := storetest.Check(1, "g", "r").Lot.Bags
	hold("asked for the first time", one, 2, seen{one, bags, 2}, 4)
	hold("asked again", one, 2, seen{one, bags, 2}, 2)
	hold("asked for fewer", one, 1, seen{one, bags, 1}, 2)
	hold("asked for more", one, 5, seen{one, bags, 3}, 3)
	hold("asked for all, which are read already", one, 500, seen{one, bags, 3}, 2)
	changed := storetest.Check(1, "g", "r")
	changed.Version, changed.Lot.Bags = 1, 99
	if _, err := write(other, "", session.Writes{Checks: []session.Check{changed}}); err != nil {
		t.Fatal(err)
	}
	hold("changed by another gateway", one, 5, seen{one, 99, 3}, 2)
	hold("no such check", storetest.Slip(3), 5, seen{"", 0, 3}, 3)
	if err := file(other, 3); err != nil {
		t.Fatal(err)
	}
	hold("filed meanwhile", storetest.Slip(3), 5, seen{storetest.Slip(3), storetest.Check(3, "g", "r").Lot.Bags, 4}, 2)
	nobody := func(v session.View) (w session.Writes, err error) {
		_, err = v.Check("")
		if !is(err, session.ErrNotFound) {
			t.Errorf("a check without a slip: %v", err)
		}
		list, err := v.ChecksOf("", 3)
		if len(list) != 1 || list[0].Slip != "LONE" {
			t.Errorf("of nobody: %+v", list)
		}
		return w, err
	}
	lone := storetest.Check(9, "", "r")
	lone.Slip = "LONE"
	if _, err := write(other, "", session.Writes{Checks: []session.Check{lone}}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []int64{2, 1} { // nothing is written
		before := s.Rounds()
		if _, err := s.Exchange(t.Context(), session.Key{Phone: phone}, nobody); err != nil || s.Rounds()-before != want {
			t.Errorf("a lot of nobody's by %d round trips, want %d: %v", s.Rounds()-before, want, err)
		}
	}
	for range hintIdle + 1 {
		hold("nothing is asked", "", 0, seen{}, 2)
	}
	if left := s.hints.get(phone); left.slip != "" || left.grower != "" {
		t.Errorf("what nobody asks is still read: %+v", left)
	}
}
