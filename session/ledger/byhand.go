package ledger

import (
	"slices"

	"threshline/session/ledger/hands"
)

// Reach counts the checks by hand chosen by f, whatever it says of the way.
func (v *View) Reach(f Filter) hands.Reach {
	f.Way = ByHand
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	return hands.Of(func(yield func(hands.Check) bool) {
		for _, c := range v.chunks {
			for _, i := range m.rows(c, space) {
				if !yield(hands.Check{
					District: v.shelf.places[c.place[i]].district, Week: dayName(int(weekOf(c.day[i]))*7 - 3),
					Grower: v.shelf.people[c.grower[i]], First: c.before[i] == 0 || marksAt(v.chunks, c.before[i]-1)&markHand == 0,
				}) {
					return
				}
			}
		}
	})
}

// HandPairs lists the checks with the kit, chosen by f, of lots that were checked
// by hand before, about in the order of filing, the last first, at most n; of is
// how many there are.
func (v *View) HandPairs(f Filter, n int) (pairs []hands.Pair, of int) {
	f.Way = WithKit
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	for _, c := range v.chunks {
		for _, i := range m.rows(c, space) {
			if before := c.before[i]; before != 0 && marksAt(v.chunks, before-1)&(markHand|markGone) == markHand {
				hand := v.chunks[(before-1)/chunkRows].slip[(before-1)%chunkRows]
				pairs = append(pairs, hands.Pair{Hand: v.shelf.slip(hand), Kit: v.shelf.slip(c.slip[i])})
			}
		}
	}
	slices.Reverse(pairs)
	return pairs[:min(n, len(pairs))], len(pairs)
}
