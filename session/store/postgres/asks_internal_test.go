package postgres

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// A question that was foreseen, by the message or by the turn before, takes no
// round trip of its own, and has the answer that the database gives now: also
// when nothing is found, when another gateway has changed it meanwhile, and when
// there is more than was read along.
func TestAQuestionThatWasForeseenTakesNoRoundTrip(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	options := Options{CallersClock: true}
	s, other := at(t, server.URL("postgres"), options), at(t, server.URL("postgres"), options)
	const mine, theirs = session.Phone("+33639980001"), session.Phone("+33639980002")
	agent := session.Person{ID: "agent", Phone: mine, Role: session.Agent, District: "Kisima", Name: "Baraka Ole"}
	people := []session.Person{
		agent, {ID: "coordinator", Phone: theirs, Role: session.Coordinator, District: "Kisima"},
		{ID: "named", Role: session.Agent, District: "Kisima", Named: true, Phone: "+33639980003", Consent: session.Consent{Given: true}},
		{ID: "asha", Role: session.Grower, Agent: "agent", Short: 3, Name: "Asha Said", District: "Kisima"},
		{ID: "juma", Role: session.Grower, Agent: "agent", Short: 4, Name: "Juma Ally"},
		{ID: "salome", Role: session.Grower, Agent: "coordinator", Short: 1, Name: "Salome"},
	}
	check := func(i int, grower, reporter session.PersonID) session.Check {
		k := storetest.Check(i, grower, reporter)
		k.At = storetest.Begin.Add(time.Duration(i) * time.Minute)
		return k
	}
	var checks []session.Check
	for i := range 30 {
		checks = append(checks, check(i, "asha", "agent"))
	}
	checks = append(checks, check(30, "", "agent"), check(31, "juma", "coordinator"), check(32, "asha", "agent"))
	invites := []session.Invite{{Code: "CODE22", Agent: "agent", Person: "coordinator", Role: session.Coordinator, Expires: storetest.Begin}}
	if _, err := write(other, "", session.Writes{People: people, Checks: checks, Invites: invites}); err != nil {
		t.Fatal(err)
	}
	if _, err := write(other, string(theirs), session.Writes{Dialogue: &session.Dialogue{Phone: theirs, Screen: "menu"}}); err != nil {
		t.Fatal(err)
	}
	slip := func(i int) session.Slip { return storetest.Slip(i) }
	questions := []struct {
		name string
		asks []session.Ask
		put  func(session.View) (any, error)
		late int64
	}{
		{"a check", []session.Ask{{Kind: session.AskCheck, ID: string(slip(2))}}, func(v session.View) (any, error) { return v.Check(slip(2)) }, 0},
		{"no such check", []session.Ask{{Kind: session.AskCheck, ID: "NONE"}}, func(v session.View) (any, error) { return v.Check("NONE") }, 0},
		{"a check's grower", []session.Ask{{Kind: session.AskCheck, ID: string(slip(2))}}, func(v session.View) (any, error) { return v.Person("asha") }, 0},
		{"a check's lot", []session.Ask{{Kind: session.AskCheck, ID: string(slip(2)), N: 20}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 20) }, 0},
		{"another check of the lot", []session.Ask{{Kind: session.AskCheck, ID: string(slip(2)), N: 20}}, func(v session.View) (any, error) { return v.Check(slip(25)) }, 0},
		{"more than was read", []session.Ask{{Kind: session.AskGrower, ID: "asha", N: 20}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 25) }, 1},
		{"more than there are", []session.Ask{{Kind: session.AskGrower, ID: "juma", N: 20}}, func(v session.View) (any, error) { return v.ChecksOf("juma", 500) }, 0},
		{"a grower", []session.Ask{{Kind: session.AskGrower, ID: "juma"}}, func(v session.View) (any, error) { return v.Person("juma") }, 0},
		{"nobody", []session.Ask{{Kind: session.AskGrower, ID: "none", N: 3}}, func(v session.View) (any, error) { return v.Person("none") }, 0},
		{"lots of nobody", []session.Ask{{Kind: session.AskGrower, N: 3}}, func(v session.View) (any, error) { return v.ChecksOf("", 3) }, 0},
		{"no lots", []session.Ask{{Kind: session.AskGrower, ID: "none", N: 3}}, func(v session.View) (any, error) { return v.ChecksOf("none", 3) }, 0},
		{"own checks", []session.Ask{{Kind: session.AskOwn, N: 40}}, func(v session.View) (any, error) { return v.ChecksBy("agent", 12) }, 0},
		{"checks of oneself", []session.Ask{{Kind: session.AskOwn, N: 40}}, func(v session.View) (any, error) { return v.ChecksOf("agent", 500) }, 0},
		{"lots of whom one checked last", []session.Ask{{Kind: session.AskOwn, N: 20}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 20) }, 0},
		{"the growers", []session.Ask{{Kind: session.AskRoster}}, func(v session.View) (any, error) { return v.Growers("agent") }, 0},
		{"one of the growers", []session.Ask{{Kind: session.AskRoster}}, func(v session.View) (any, error) { return v.Person("juma") }, 0},
		{"a grower by number", []session.Ask{{Kind: session.AskMember, N: 3}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 20) }, 0},
		{"a grower by name", []session.Ask{{Kind: session.AskMember, ID: "said"}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 3) }, 0},
		{"a grower by another name", []session.Ask{{Kind: session.AskMember, ID: "ju"}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 3) }, 1},
		{"the coordinators", []session.Ask{{Kind: session.AskCoordinators}}, func(v session.View) (any, error) { return v.Coordinators() }, 0},
		{"who is named", []session.Ask{{Kind: session.AskNamed, ID: "Kisima"}}, func(v session.View) (any, error) { return v.Named("Kisima") }, 0},
		{"who is named nearby", []session.Ask{{Kind: session.AskNamed}}, func(v session.View) (any, error) { return v.Named("Kisima") }, 0},
		{"who is named elsewhere", []session.Ask{{Kind: session.AskNamed}}, func(v session.View) (any, error) { return v.Named("Korongo") }, 1},
		{"a code", []session.Ask{{Kind: session.AskInvite, ID: "CODE22"}}, func(v session.View) (any, error) { return v.Invite("CODE22") }, 0},
		{"no such code", []session.Ask{{Kind: session.AskInvite, ID: "CODE23"}}, func(v session.View) (any, error) { return v.Invite("CODE23") }, 0},
		{"whom a code is for", []session.Ask{{Kind: session.AskInvite, ID: "CODE22"}}, func(v session.View) (any, error) { return v.Person("coordinator") }, 0},
		{"their growers", []session.Ask{{Kind: session.AskInvite, ID: "CODE22"}}, func(v session.View) (any, error) { return v.Growers("coordinator") }, 0},
		{"their dialogue", []session.Ask{{Kind: session.AskInvite, ID: "CODE22"}}, func(v session.View) (any, error) { return v.Dialogue(theirs) }, 0},
		{"another phone", []session.Ask{{Kind: session.AskPhone, ID: string(theirs)}}, func(v session.View) (any, error) { return v.PersonByPhone(theirs) }, 0},
		{"its dialogue", []session.Ask{{Kind: session.AskPhone, ID: string(theirs)}}, func(v session.View) (any, error) { return v.Dialogue(theirs) }, 0},
		{"its growers", []session.Ask{{Kind: session.AskPhone, ID: string(theirs)}}, func(v session.View) (any, error) { return v.Growers("coordinator") }, 0},
		{"a phone of nobody's", []session.Ask{{Kind: session.AskPhone, ID: "+33639980009"}}, func(v session.View) (any, error) { return v.PersonByPhone("+33639980009") }, 0},
		{"a question with a sign of patterns", []session.Ask{{Kind: session.AskMember, ID: "%"}}, func(v session.View) (any, error) { return v.ChecksOf("asha", 3) }, 1},
		{"what nobody foresaw", nil, func(v session.View) (any, error) { return v.Check(slip(2)) }, 1},
	}
	n := 0
	put := func(asks, next []session.Ask, q func(session.View) (any, error)) (got any, trips int64, fault error) {
		t.Helper()
		n++
		before := s.Rounds()
		key := session.Key{Phone: mine, Duplicate: fmt.Sprint("m", n), KeepUntil: storetest.Begin, Asks: asks}
		if _, err := s.Exchange(t.Context(), key, func(v session.View) (w session.Writes, err error) {
			d, err := v.Dialogue(mine)
			if err != nil {
				return w, err
			}
			got, fault = q(v)
			d.Screen, d.Page = "menu", n
			return session.Writes{Dialogue: &d, Asks: next}, nil
		}); err != nil {
			t.Fatal(err)
		}
		return got, s.Rounds() - before, fault
	}
	nothing := func(session.View) (any, error) { return nil, nil }
	hold := func(t *testing.T, name string, asks []session.Ask, late int64, q func(session.View) (any, error)) {
		t.Helper()
		var want any
		var missing error
		if err := other.Read(t.Context(), func(v session.View) error { want, missing = q(v); return nil }); err != nil {
			t.Fatal(err)
		}
		if got, trips, fault := put(asks, []session.Ask{}, q); !reflect.DeepEqual(got, want) || (fault == nil) != (missing == nil) || is(fault, session.ErrNotFound) != is(missing, session.ErrNotFound) || trips != 2+late {
			t.Errorf("%s, asked by the message: %v, %v by %d round trips, want %v, %v by %d", name, got, fault, trips, want, missing, 2+late)
		}
		put(nil, asks, nothing)
		if got, trips, fault := put(nil, []session.Ask{}, q); !reflect.DeepEqual(got, want) || (fault == nil) != (missing == nil) || trips != 2+late {
			t.Errorf("%s, asked by the turn before: %v, %v by %d round trips, want %v, %v by %d", name, got, fault, trips, want, missing, 2+late)
		}
	}
	for _, q := range questions {
		hold(t, q.name, q.asks, q.late, q.put)
	}
	if t.Failed() {
		return
	}
	put(nil, []session.Ask{{Kind: session.AskCheck, ID: string(slip(2))}}, nothing)
	changed := check(2, "asha", "agent")
	changed.Version, changed.Lot.Bags = 1, 99
	if _, err := write(other, "", session.Writes{Checks: []session.Check{changed}}); err != nil {
		t.Fatal(err)
	}
	ask := func(v session.View) (any, error) { k, err := v.Check(slip(2)); return k.Lot.Bags, err }
	if got, trips, err := put(nil, nil, ask); err != nil || got != 99 || trips != 2 {
		t.Errorf("changed by another gateway: %v, %v by %d round trips", got, err, trips)
	}
	if got, trips, err := put(nil, []session.Ask{}, ask); err != nil || got != 99 || trips != 2 {
		t.Errorf("a turn that says nothing of the next one leaves what was kept: %v, %v by %d round trips", got, err, trips)
	}
}

// Who is forgotten is in no question that was kept for a turn to come.
func TestQuestionsForgetWhoIsForgotten(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s := at(t, server.URL("postgres"), Options{CallersClock: true})
	asha := session.Person{ID: "asha", Role: session.Grower, Phone: "+33639980002", Name: "Asha Said"}
	if _, err := write(s, "", session.Writes{People: []session.Person{asha}}); err != nil {
		t.Fatal(err)
	}
	kept := func() (n int) {
		t.Helper()
		if err := s.pool.QueryRow(t.Context(), "select count(*) from dialogues where asks <> ''").Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	for i, ask := range []session.Ask{
		{Kind: session.AskRoster}, {Kind: session.AskMember, ID: "ÁSHA"}, {Kind: session.AskPhone, ID: string(asha.Phone)},
	} {
		phone := storetest.Phone(i + 20)
		w := session.Writes{Dialogue: &session.Dialogue{Phone: phone, Screen: "menu"}, Asks: []session.Ask{{Kind: session.AskCoordinators}, ask}}
		if _, err := s.Exchange(t.Context(), session.Key{Phone: phone}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
			t.Fatal(err)
		}
	}
	if n := kept(); n != 3 {
		t.Fatalf("%d questions are kept before", n)
	}
	if _, err := write(s, "", session.Writes{Forget: []session.Trace{asha.Trace()}}); err != nil {
		t.Fatal(err)
	}
	if n := kept(); n != 1 {
		t.Errorf("%d dialogues keep a question, want the one that names nobody", n)
	}
}
