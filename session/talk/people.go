package talk

import (
	"cmp"
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

// Decline deletes everything about a person who does not want to be recorded.
func (t *Talk) Decline() {
	if t.Person.ID != "" { // asked anew, or named by a roster
		t.Forget()
		return
	}
	t.forget(session.Trace{Phone: t.In.Phone})
	t.forgotten = true
}

// Forget removes the person's name, number and village. Their checks stay,
// without them.
func (t *Talk) Forget() {
	p := t.Person
	t.forget(p.Trace())
	t.put(p.Anonymous())
	t.Note("forgot at the person's own wish", p.ID)
	t.remind(session.NoReminders(p.ID)...)
	t.be(session.Person{})
	t.forgotten = true
}

// AgreeFor records the answer to the consent text in force that a person gave
// their agent, without a phone of their own. After a no, nothing is kept that
// says who they are.
func (t *Talk) AgreeFor(p session.Person, given bool) session.Person {
	did := "recorded a person's consent"
	p.Consent = session.Consent{Version: t.Programme.ConsentVersion, Given: given, At: t.In.At}
	if !given {
		t.forget(p.Trace())
		p, did = p.Anonymous(), "removed a person who did not agree"
	}
	t.Note(did, p.ID)
	return t.Save(p)
}

// Redeem uses a code: an invitation, or a code that moves a person's record to
// this phone. It returns the key of the words that say what is wrong with the
// code, and "" when it was good. After many wrong codes the person has to wait,
// as with slips.
func (t *Talk) Redeem(code string) (problem string) {
	if t.SlowCode() > 0 {
		return "wrong.code"
	}
	i, err := t.view.Invite(code)
	t.fail(err)
	if err != nil || i.Used || t.In.At.After(i.Expires) || !t.stands(&i) {
		t.MissedCode()
		return "wrong.code"
	}
	if i.Person != "" {
		problem = t.takeOver(&i)
	} else {
		p := t.Person
		p.Role = i.Role
		p.District = cmp.Or(p.District, i.District)
		t.Save(p)
		t.Note("joined as "+string(i.Role)+" by invitation", p.ID)
	}
	if problem == "" {
		i.Used = true
		t.writes.Invites = append(t.writes.Invites, i)
		t.Dialogue.WrongCodes, t.Dialogue.CodesSince = 0, time.Time{}
	}
	return problem
}

// stands reports whether whoever made a code by phone may still let somebody in by
// it. Nobody takes a code of their own; those of the desk end with their maker there.
func (t *Filing) stands(i *session.Invite) bool {
	if i.Agent == "" {
		return true
	}
	maker := t.PersonOf(i.Agent)
	return i.Agent != t.Person.ID && maker.MayInvite(i.Role)
}

// LotName says which lot is meant: whose it is, and how much.
func (t *Filing) LotName(lot session.Lot) string { return t.lotName(t.PersonOf(lot.Grower).Name, lot) }

// KitAgent is whom to send the grower of a lot to for a check with the kit: an
// agent of the lot's district who agreed to be named, see programme.KitNear. When
// there is none, Programme.KitAt may say where to go.
func (t *Filing) KitAgent(lot session.Lot) (session.Person, bool) {
	grower := t.PersonOf(lot.Grower)
	if grower.ID == "" {
		grower = t.Person
	}
	district := cmp.Or(lot.District, grower.District, t.Person.District)
	if district == "" {
		return session.Person{}, false
	}
	named, err := t.view.Named(district)
	t.fail(err)
	a, ok := t.Programme.KitNear(named, &grower, cmp.Or(lot.Village, grower.Village))
	return a, ok && a.ID != t.Person.ID
}

// BeNamed records whether the person wants to be named, with their number, to
// growers nearby who have no kit.
func (t *Talk) BeNamed(want bool) {
	p := t.Person
	if p.Named == want {
		return
	}
	p.Named = want
	t.Save(p)
	did := map[bool]string{true: "agreed to be named to growers", false: "is no longer named to growers"}[want]
	t.Note(did, p.ID)
}
