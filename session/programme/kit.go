package programme

import (
	"cmp"
	"hash/fnv"
	"slices"

	"threshline/session"
)

// KitNear finds whom to send a grower to who has no kit, of the agents named in the
// grower's district: the grower's own agent, else one of the village, else any. Who
// lacks scale or husker has no kit; of several the best equipped come first, and
// growers are spread over equals, each always to the same one. False when there is
// none.
func (p *Programme) KitNear(named []session.Person, grower *session.Person, village string) (session.Person, bool) {
	var list []session.Person
	for _, a := range named {
		_, is := a.NamedIn()
		if is && p.Agreed(&a) && a.ID != grower.ID && a.Kit.Has(session.Scale) && a.Kit.Has(session.Husker) {
			list = append(list, a)
		}
	}
	if len(list) == 0 {
		return session.Person{}, false
	}
	far := func(a *session.Person) int {
		switch {
		case a.ID == grower.Agent:
			return 0
		case a.Village == village && village != "":
			return 1
		}
		return 2
	}
	order := func(a, b session.Person) int {
		return cmp.Or(cmp.Compare(far(&a), far(&b)), cmp.Compare(len(a.Kit.Lacks), len(b.Kit.Lacks)))
	}
	slices.SortStableFunc(list, order)
	equals := 1
	for equals < len(list) && order(list[0], list[equals]) == 0 {
		equals++
	}
	h := fnv.New32a()
	h.Write([]byte(grower.ID))
	return list[int(h.Sum32()%uint32(equals))], true
}
