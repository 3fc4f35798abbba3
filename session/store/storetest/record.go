package storetest

import (
	"testing"

	"threshline/grading"
	"threshline/session"
)

var recordCases = []testCase{
	{"what is not there is not found", missing},
	{"a record with nothing in it comes back as it is", blank},
	{"a zero that was measured is not the same as nothing measured", measuredZero},
	{"the counts of a check by hand come back, and are nothing measured", byHand},
	{"a change moves a person in every index", personMoves},
	{"a correction moves a check in every index", checkMoves},
}

func missing(t *testing.T, e Engine) {
	put(t, e, session.Writes{People: []session.Person{Person(1)}, Checks: []session.Check{Check(1, PersonID(1), PersonID(1))}})
	read(t, e, func(v session.View) error {
		_, err := v.Person("nobody")
		wantErr(t, "person", err, session.ErrNotFound)
		_, err = v.PersonByPhone(Phone(2))
		wantErr(t, "person by phone", err, session.ErrNotFound)
		_, err = v.PersonByPhone("")
		wantErr(t, "person without a phone", err, session.ErrNotFound)
		_, err = v.Check("none")
		wantErr(t, "check", err, session.ErrNotFound)
		_, err = v.Check("")
		wantErr(t, "check without a slip", err, session.ErrNotFound)
		_, err = v.Invite("none")
		wantErr(t, "invite", err, session.ErrNotFound)
		d, err := v.Dialogue(Phone(3))
		if err != nil || d.Phone != Phone(3) || d.Version != 0 {
			t.Errorf("dialogue that is not there: %+v, %v, want an empty one of that phone", d, err)
		}
		for what, list := range map[string]func(session.PersonID, int) ([]session.Check, error){"of": v.ChecksOf, "by": v.ChecksBy} {
			if got, err := list("p00000", 9); err != nil || len(got) != 0 {
				t.Errorf("checks %s an id that only begins alike: %v, %v", what, slips(got), err)
			}
		}
		if got, err := v.Growers(PersonID(1)); err != nil || len(got) != 0 {
			t.Errorf("growers of one who has none: %v, %v", got, err)
		}
		return nil
	})
}

func blank(t *testing.T, e Engine) {
	put(t, e, session.Writes{
		Dialogue: &session.Dialogue{Phone: "word", Screen: "x"}, People: []session.Person{{ID: "p"}}, Checks: []session.Check{{Slip: "s"}},
		Invites: []session.Invite{{Code: "i"}}, Outgoing: []session.Outgoing{{ID: "m", State: session.Refused}}, Notes: []session.AuditNote{{}},
	})
	sameDialogue(t, session.Dialogue{Phone: "word", Screen: "x"}, dialogue(t, e, "word"))
	same(t, "person", session.Person{ID: "p", Version: 1}, person(t, e, "p"))
	same(t, "check", session.Check{Slip: "s", Version: 1, Position: 1}, check(t, e, "s"))
	sent := must(e.Sent(ctx, session.Outgoing{}, 9))(t)
	same(t, "sent", []session.Outgoing{{ID: "m", State: session.Refused}}, sent)
}

func measuredZero(t *testing.T, e Engine) {
	k := Check(1, "", "")
	k.Readings = grading.Readings{}
	k.Readings.Set(grading.Red, 0)
	put(t, e, session.Writes{Checks: []session.Check{k}})
	got := check(t, e, k.Slip)
	if d, ok := got.Readings.Get(grading.Red); !ok || d != 0 {
		t.Errorf("red is %v, %v, want a measured zero", d, ok)
	}
	if got.Readings.Has(grading.Cracked) || got.Readings.Has(grading.Moisture) {
		t.Error("something that was not measured is there")
	}
}

func byHand(t *testing.T, e Engine) {
	k := Check(1, PersonID(1), "")
	k.Readings = grading.Readings{Hand: grading.Hand{Grains: 200, Empty: 12, Stones: 1, Green: 6, Husked: 50, Red: 4, Discoloured: 1, Handfuls: 3}, Looked: grading.WasLooked}
	d := Dialogue(Phone(1))
	d.Drafts[0].Readings = k.Readings
	put(t, e, session.Writes{Checks: []session.Check{k}, Dialogue: &d})
	for what, got := range map[string]grading.Readings{"a check": check(t, e, k.Slip).Readings, "a draft": dialogue(t, e, d.Phone).Drafts[0].Readings} {
		if got.Hand != k.Readings.Hand || !got.ByHand() {
			t.Errorf("%s by hand comes back as %+v, by hand %v", what, got.Hand, got.ByHand())
		}
	}
}

func personMoves(t *testing.T, e Engine) {
	p := Person(1)
	p.Agent, p.Short = "agent a", 7
	put(t, e, session.Writes{People: []session.Person{p}})
	p = person(t, e, p.ID)
	p.Agent, p.Short, p.Phone = "agent b", 3, Phone(2)
	put(t, e, session.Writes{People: []session.Person{p}})
	read(t, e, func(v session.View) error {
		if list, err := v.Growers("agent a"); len(list) != 0 || err != nil {
			t.Errorf("still with the old agent: %v, %v", list, err)
		}
		if list, err := v.Growers("agent b"); len(list) != 1 || err != nil || list[0].Short != 3 {
			t.Errorf("with the new agent: %v, %v", list, err)
		}
		_, err := v.PersonByPhone(Phone(1))
		wantErr(t, "old phone", err, session.ErrNotFound)
		byPhone, err := v.PersonByPhone(Phone(2))
		if err != nil || byPhone.ID != p.ID {
			t.Errorf("by the new phone: %q, %v", byPhone.ID, err)
		}
		return nil
	})
}

func checkMoves(t *testing.T, e Engine) {
	put(t, e, session.Writes{Checks: []session.Check{Check(1, "grower a", "agent a"), Check(2, "grower a", "agent a")}})
	k := check(t, e, Slip(1))
	k.Lot.Grower, k.Reporter, k.State = "grower b", "agent b", session.Corrected
	put(t, e, session.Writes{Checks: []session.Check{k}})
	read(t, e, func(v session.View) error {
		for person, want := range map[session.PersonID]session.Slip{"grower a": Slip(2), "grower b": Slip(1)} {
			if list, err := v.ChecksOf(person, 9); err != nil || len(list) != 1 || list[0].Slip != want {
				t.Errorf("checks of %s: %v, %v, want %s", person, slips(list), err, want)
			}
		}
		for person, want := range map[session.PersonID]session.Slip{"agent a": Slip(2), "agent b": Slip(1)} {
			if list, err := v.ChecksBy(person, 9); err != nil || len(list) != 1 || list[0].Slip != want {
				t.Errorf("checks by %s: %v, %v, want %s", person, slips(list), err, want)
			}
		}
		return nil
	})
	if got := check(t, e, Slip(1)); got.Version != 2 || got.Position != 3 || got.State != session.Corrected {
		t.Errorf("corrected check: version %d, position %d, %s", got.Version, got.Position, got.State)
	}
}
