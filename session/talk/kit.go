package talk

import (
	"cmp"

	"threshline/session"
)

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
