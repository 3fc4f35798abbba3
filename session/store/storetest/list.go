package storetest

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"threshline/session"
)

var listCases = []testCase{
	{"checks come in the order of their last change, in pages", filedPages},
	{"people come by id, in pages", peoplePages},
	{"audit notes come newest first, in pages", notePages},
	{"random people and checks list as a plain model says", listsAgainstModel},
}

func filedPages(t *testing.T, e Engine) {
	for i := range 10 {
		put(t, e, session.Writes{Checks: []session.Check{Check(i, "", "")}})
	}
	for _, i := range []int{3, 0, 3} {
		put(t, e, session.Writes{Checks: []session.Check{check(t, e, Slip(i))}})
	}
	want := []session.Slip{Slip(1), Slip(2), Slip(4), Slip(5), Slip(6), Slip(7), Slip(8), Slip(9), Slip(0), Slip(3)}
	for _, page := range []int{1, 3, 10, 100} {
		var got []session.Slip
		var after uint64
		for k := range paged(t, page, func() ([]session.Check, error) { return e.Filed(ctx, after, page) }) {
			if k.Position <= after {
				t.Fatalf("position %d comes after %d", k.Position, after)
			}
			after, got = k.Position, append(got, k.Slip)
		}
		if !slices.Equal(want, got) {
			t.Errorf("by %d: %v, want %v", page, got, want)
		}
	}
	slices.Reverse(want)
	for _, n := range []int{0, 1, 4, 10, 100} {
		list := must(e.Newest(ctx, n))(t)
		if got := slips(list); !slices.Equal(got, want[:min(n, len(want))]) {
			t.Errorf("the newest %d: %v, want %v", n, got, want[:min(n, len(want))])
		}
		for _, k := range list {
			if c := check(t, e, k.Slip); c.Version != k.Version || c.Position != k.Position {
				t.Errorf("%s is at version %d, position %d; listed %d, %d", k.Slip, c.Version, c.Position, k.Version, k.Position)
			}
		}
	}
}

func peoplePages(t *testing.T, e Engine) {
	var w session.Writes
	for _, i := range rand.New(rand.NewPCG(1, 1)).Perm(25) {
		w.People = append(w.People, Person(i))
	}
	put(t, e, w)
	var after session.PersonID
	n := 0
	for p := range paged(t, 10, func() ([]session.Person, error) { return e.People(ctx, after, 10) }) {
		if p.ID != PersonID(n) || p.Version != 1 {
			t.Fatalf("person %q at version %d, want %q", p.ID, p.Version, PersonID(n))
		}
		after = p.ID
		n++
	}
	if n != 25 {
		t.Errorf("%d people, want 25", n)
	}
}

func notePages(t *testing.T, e Engine) {
	for i := range 7 {
		put(t, e, session.Writes{Notes: []session.AuditNote{{Subject: fmt.Sprint(i)}}})
	}
	var got []string
	pages := 0
	for next := uint64(0); pages == 0 || next != 0; pages++ {
		var list []session.AuditNote
		var err error
		if list, next, err = e.Notes(ctx, next, 3); err != nil {
			t.Fatal(err)
		}
		for _, n := range list {
			got = append(got, n.Subject)
		}
	}
	if want := []string{"6", "5", "4", "3", "2", "1", "0"}; !slices.Equal(want, got) || pages != 3 {
		t.Errorf("%v on %d pages, want %v on 3", got, pages, want)
	}
}

// listsAgainstModel writes random changes and compares every list with one
// sorted from a plain map.
func listsAgainstModel(t *testing.T, e Engine) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	people := make(map[session.PersonID]session.Person)
	checks := make(map[session.Slip]session.Check)
	somebody := func() session.PersonID { return PersonID(r.IntN(6)) }
	for range 300 {
		var w session.Writes
		if i := r.IntN(40); r.IntN(2) == 0 {
			p, known := people[PersonID(i)]
			if !known {
				p = Person(i)
			}
			p.Agent, p.Short = somebody(), r.IntN(99)
			w.People = []session.Person{p}
			put(t, e, w)
			p.Version++
			people[p.ID] = p
			continue
		}
		i := r.IntN(60)
		k, known := checks[Slip(i)]
		if !known {
			k = Check(i, "", "")
		}
		k.Lot.Grower, k.Reporter = somebody(), somebody()
		k.At = Begin.Add(time.Duration(r.IntN(5)) * time.Hour)
		put(t, e, session.Writes{Checks: []session.Check{k}})
		checks[k.Slip] = check(t, e, k.Slip)
	}
	read(t, e, func(v session.View) error {
		for i := range 6 {
			compareLists(t, v, PersonID(i), people, checks)
		}
		return nil
	})
}

func compareLists(t *testing.T, v session.View, id session.PersonID, people map[session.PersonID]session.Person, checks map[session.Slip]session.Check) {
	t.Helper()
	var growers []session.Person
	for _, p := range people {
		if p.Agent == id {
			growers = append(growers, p)
		}
	}
	slices.SortFunc(growers, func(a, b session.Person) int { return cmp.Or(a.Short-b.Short, cmp.Compare(a.ID, b.ID)) })
	got := must(v.Growers(id))(t)
	same(t, "growers of "+string(id), growers, got)

	newest := func(mine func(session.Check) bool) []session.Check {
		var list []session.Check
		for _, k := range checks {
			if mine(k) {
				list = append(list, k)
			}
		}
		slices.SortFunc(list, func(a, b session.Check) int { return -cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Slip, b.Slip)) })
		return list[:min(len(list), 7)]
	}
	of := must(v.ChecksOf(id, 7))(t)
	same(t, "checks of "+string(id), newest(func(k session.Check) bool { return k.Lot.Grower == id }), of)
	by := must(v.ChecksBy(id, 7))(t)
	same(t, "checks by "+string(id), newest(func(k session.Check) bool { return k.Reporter == id }), by)
}
