package talk

import (
	"maps"
	"slices"
	"time"

	"threshline/session"
)

// StepScreen takes whatever reading comes next.
const StepScreen session.ScreenID = "step"

// Agree records that the person agreed to the consent text, and makes them
// known. An invitation that came before is redeemed.
func (t *Talk) Agree() {
	p := t.Person
	if p.ID == "" {
		p = session.Person{Phone: t.In.Phone, Role: session.Grower}
	}
	p.Language = t.Language
	p.Consent = session.Consent{Version: t.Programme.ConsentVersion, Given: true, At: t.In.At}
	t.Save(p)
	if code := t.Memo().Invitation; code != "" {
		t.Redeem(code)
	}
	t.Memo().Language, t.Memo().Invitation = "", ""
}

// Decline keeps nothing of somebody who does not want to be recorded.
func (t *Talk) Decline() {
	if t.Person.ID != "" {
		p := t.Person
		p.Consent = session.Consent{Version: t.Programme.ConsentVersion, At: t.In.At}
		t.Save(p)
	}
	t.writes.Forget = append(t.writes.Forget, session.Trace{Phone: t.In.Phone})
	t.forgotten = true
}

// Forget removes the person's name, number and village. Their checks stay,
// without them.
func (t *Talk) Forget() {
	p := t.Person
	t.writes.Forget = append(t.writes.Forget, p.Trace())
	t.people = putPerson(t.people, p.Anonymous())
	t.be(session.Person{})
	t.forgotten = true
	t.writes.Notes = append(t.writes.Notes, session.AuditNote{
		At: t.In.At, Who: string(p.Role) + " " + string(p.ID), Did: "forgot at the person's own wish", Subject: string(p.ID),
	})
	t.writes.Remindings = append(t.writes.Remindings, session.NoReminders(p.ID)...)
}

// Agreed tells whether a person agreed to the consent text in force, by their
// own phone or through their agent.
func (t *Talk) Agreed(p session.Person) bool {
	return p.ID != "" && p.Consent.Given && p.Consent.Version >= t.Programme.ConsentVersion && !p.Forgotten
}

// AgreeFor records what a person without a phone at hand told their agent
// about the consent text in force. After a no nothing stays that says who they
// are.
func (t *Talk) AgreeFor(p session.Person, given bool) session.Person {
	did := "recorded a person's consent"
	p.Consent = session.Consent{Version: t.Programme.ConsentVersion, Given: given, At: t.In.At}
	if !given {
		t.writes.Forget = append(t.writes.Forget, p.Trace())
		p, did = p.Anonymous(), "removed a person who did not agree"
	}
	t.Note(did, p.ID)
	return t.Save(p)
}

func putPerson(m map[session.PersonID]session.Person, p session.Person) map[session.PersonID]session.Person {
	if m == nil {
		m = map[session.PersonID]session.Person{}
	}
	m[p.ID] = p
	return m
}

func (t *Talk) savedPeople() []session.Person {
	var all []session.Person
	for _, id := range slices.Sorted(maps.Keys(t.people)) {
		all = append(all, t.people[id])
	}
	return all
}

// Note records who did what to somebody's data.
func (t *Talk) Note(did string, subject session.PersonID) {
	t.writes.Notes = append(t.writes.Notes, session.AuditNote{
		At: t.In.At, Who: string(t.Person.Role) + " " + string(t.Person.ID), Did: did, Subject: string(subject),
	})
}

// inviteFor is how long an invitation code is good. Source: assumed.
const inviteFor = 7 * 24 * time.Hour

// Invite makes a code that lets somebody join in a role.
func (t *Talk) Invite(role session.Role) session.Invite {
	i := session.Invite{
		Code: session.NewInviteCode(t.Random()), Role: role, District: t.Person.District,
		Agent: t.Person.ID, Expires: t.In.At.Add(inviteFor),
	}
	t.writes.Invites = append(t.writes.Invites, i)
	return i
}

// Redeem uses an invitation code. It tells whether the code was good.
func (t *Talk) Redeem(code string) bool {
	i, err := t.view.Invite(code)
	t.fail(err)
	if err != nil || i.Used || t.In.At.After(i.Expires) || i.Agent == t.Person.ID {
		return false
	}
	i.Used = true
	t.writes.Invites = append(t.writes.Invites, i)
	p := t.Person
	p.Role = i.Role
	if p.District == "" {
		p.District = i.District
	}
	t.Save(p)
	t.Note("joined as "+string(i.Role)+" by invitation", p.ID)
	return true
}

// LotName says which lot is meant: whose it is, and how much.
func (t *Talk) LotName(lot session.Lot) string { return t.lotName(t.PersonOf(lot.Grower).Name, lot) }
