package storetest

import (
	"math/rand/v2"
	"testing"

	"threshline/session"
)

var coordinatorCases = []testCase{
	{"coordinators are listed by id, whatever becomes of them", coordinatorsListed},
	{"random changes of role list the coordinators as a plain model says", coordinatorsAgainstModel},
}

func coordinators(t *testing.T, e Engine) (list []session.PersonID) {
	t.Helper()
	read(t, e, func(v session.View) error {
		people, err := v.Coordinators()
		for _, p := range people {
			same(t, "coordinator "+string(p.ID), must(v.Person(p.ID))(t), p)
			list = append(list, p.ID)
		}
		return err
	})
	return list
}

func coordinatorsListed(t *testing.T, e Engine) {
	same(t, "coordinators of nobody", []session.PersonID(nil), coordinators(t, e))
	first, second, third := Person(2), Person(1), Person(3)
	first.Role, second.Role = session.Coordinator, session.Coordinator
	put(t, e, session.Writes{People: []session.Person{first, second, third}})
	same(t, "coordinators", []session.PersonID{PersonID(1), PersonID(2)}, coordinators(t, e))

	first, second = person(t, e, first.ID), person(t, e, second.ID)
	first.Phone, first.Stopped = Phone(7), Begin // still one
	second.Role = session.Agent
	put(t, e, session.Writes{People: []session.Person{first, second}})
	same(t, "after one became an agent", []session.PersonID{PersonID(2)}, coordinators(t, e))

	third = person(t, e, third.ID)
	third.Role = session.Coordinator
	put(t, e, session.Writes{People: []session.Person{third}})
	same(t, "after a grower became one", []session.PersonID{PersonID(2), PersonID(3)}, coordinators(t, e))
}

func coordinatorsAgainstModel(t *testing.T, e Engine) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 1))
	roles := []session.Role{session.Coordinator, session.Agent, session.Grower}
	people := make([]session.Person, 12)
	for i := range people {
		people[i] = Person(i)
	}
	for range 100 {
		i := r.IntN(len(people))
		people[i].Role = roles[r.IntN(len(roles))]
		put(t, e, session.Writes{People: []session.Person{people[i]}})
		people[i].Version++
		var want []session.PersonID
		for _, p := range people {
			if p.Role == session.Coordinator && p.Version > 0 {
				want = append(want, p.ID)
			}
		}
		same(t, "coordinators", want, coordinators(t, e))
	}
}
