package programme_test

import (
	"fmt"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/programme"
)

func namedAgent(id, village string) session.Person {
	return session.Person{
		ID: session.PersonID(id), Role: session.Agent, Phone: "+33639980001", Name: id, District: "Kisima", Village: village,
		Consent: session.Consent{Version: 2, Given: true}, Named: true,
	}
}

func TestAGrowerIsSentToTheNearestAgentWhoAgreed(t *testing.T) {
	p := &programme.Programme{ConsentVersion: 2}
	grower := session.Person{ID: "grower", Role: session.Grower, District: "Kisima", Village: "Weir", Agent: "own"}
	far, near, own := namedAgent("far", "Mtoni"), namedAgent("near", "Weir"), namedAgent("own", "Mtoni")
	with := func(change func(*session.Person)) session.Person {
		a := namedAgent("near", "Weir")
		change(&a)
		return a
	}
	for _, c := range []struct {
		name  string
		named []session.Person
		want  session.PersonID
	}{
		{"nobody", nil, ""},
		{"the only one", []session.Person{far}, "far"},
		{"the village before the district", []session.Person{far, near}, "near"},
		{"the grower's own before the village", []session.Person{far, near, own}, "own"},
		{"not who lacks a husker", []session.Person{far, with(func(a *session.Person) { a.Kit.Lacks = []session.Tool{session.Husker} })}, "far"},
		{"not who lacks a scale", []session.Person{far, with(func(a *session.Person) { a.Kit.Lacks = []session.Tool{session.Scale} })}, "far"},
		{"the better equipped of one village", []session.Person{with(func(a *session.Person) { a.ID, a.Kit.Lacks = "a", []session.Tool{session.Meter} }), near}, "near"},
		{"not who did not agree", []session.Person{with(func(a *session.Person) { a.Named = false })}, ""},
		{"not who stopped messages", []session.Person{with(func(a *session.Person) { a.Stopped = time.Unix(1, 0) })}, ""},
		{"not who agreed to an earlier text", []session.Person{with(func(a *session.Person) { a.Consent.Version = 1 })}, ""},
		{"not the one who asks", []session.Person{with(func(a *session.Person) { a.ID = "grower" })}, ""},
		{"not who is no agent any more", []session.Person{with(func(a *session.Person) { a.Role = session.Buyer })}, ""},
	} {
		got, ok := p.KitNear(c.named, &grower, grower.Village)
		if got.ID != c.want || ok != (c.want != "") {
			t.Errorf("%s: %q, %v, want %q", c.name, got.ID, ok, c.want)
		}
	}
}

func TestGrowersAreSpreadOverEqualAgents(t *testing.T) {
	p := &programme.Programme{}
	named := []session.Person{namedAgent("a", "Weir"), namedAgent("b", "Weir"), namedAgent("c", "Weir"), namedAgent("d", "Mtoni")}
	sent := map[session.PersonID]int{}
	for i := range 300 {
		grower := session.Person{ID: session.PersonID(fmt.Sprintf("g%d", i)), Village: "Weir"}
		first, _ := p.KitNear(named, &grower, "Weir")
		again, _ := p.KitNear(named, &grower, "Weir")
		if first.ID != again.ID {
			t.Fatalf("grower %d is sent to %s, then to %s", i, first.ID, again.ID)
		}
		sent[first.ID]++
	}
	if len(sent) != 3 || min(sent["a"], sent["b"], sent["c"]) < 60 {
		t.Errorf("growers were sent to %v", sent)
	}
}
