package storetest

import (
	"testing"

	"threshline/session"
)

var namedCases = []testCase{
	{"agents who agreed to be named are found by district, and no longer once they did not", namedAgents},
}

func named(t *testing.T, e Engine, district string) (list []session.PersonID) {
	t.Helper()
	read(t, e, func(v session.View) error {
		people, err := v.Named(district)
		for _, p := range people {
			same(t, "named agent "+string(p.ID), must(v.Person(p.ID))(t), p)
			list = append(list, p.ID)
		}
		return err
	})
	return list
}

func namedAgents(t *testing.T, e Engine) {
	agent := func(i int) session.Person {
		p := Person(i)
		p.Role, p.Named = session.Agent, true
		return p
	}
	change := func(id session.PersonID, do func(*session.Person)) {
		p := person(t, e, id)
		do(&p)
		put(t, e, session.Writes{People: []session.Person{p}})
	}
	same(t, "named of nobody", []session.PersonID(nil), named(t, e, "Kisima"))
	silent, grower, elsewhere, nowhere := agent(3), agent(4), agent(5), agent(6)
	silent.Named, grower.Role, elsewhere.District, nowhere.District = false, session.Grower, "Kisim", ""
	both := agent(7)
	both.Agent, both.Short = PersonID(1), 2 // was a grower of another
	put(t, e, session.Writes{People: []session.Person{agent(2), agent(1), silent, grower, elsewhere, nowhere, both}})
	same(t, "named", []session.PersonID{PersonID(1), PersonID(2), PersonID(7)}, named(t, e, "Kisima"))
	same(t, "named elsewhere", []session.PersonID{PersonID(5)}, named(t, e, "Kisim"))
	same(t, "named without a district", []session.PersonID(nil), named(t, e, ""))
	read(t, e, func(v session.View) error {
		list, err := v.Growers(PersonID(1))
		if len(list) != 1 || list[0].ID != PersonID(7) {
			t.Errorf("the agent's grower who is an agent too: %v", list)
		}
		return err
	})

	change(PersonID(1), func(p *session.Person) { p.Named = false })
	change(PersonID(2), func(p *session.Person) { p.District = "Kisim" })
	change(PersonID(3), func(p *session.Person) { p.Named = true })
	same(t, "after changes", []session.PersonID{PersonID(3), PersonID(7)}, named(t, e, "Kisima"))
	same(t, "elsewhere after changes", []session.PersonID{PersonID(2), PersonID(5)}, named(t, e, "Kisim"))
	change(PersonID(3), func(p *session.Person) { p.Stopped = Begin })
	same(t, "after STOP", []session.PersonID{PersonID(7)}, named(t, e, "Kisima"))

	gone := person(t, e, PersonID(7))
	put(t, e, session.Writes{People: []session.Person{gone.Anonymous()}, Forget: []session.Trace{gone.Trace()}})
	same(t, "after FORGET", []session.PersonID(nil), named(t, e, "Kisima"))
	if p := person(t, e, PersonID(7)); p.Named {
		t.Error("somebody forgotten is still to be named")
	}
	if err := e.Verify(ctx); err != nil {
		t.Error(err)
	}
}
