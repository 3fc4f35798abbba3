package ledger

import (
	"cmp"
	"slices"
	"time"

	"threshline/session"
	"threshline/session/ledger/packed"
	"threshline/session/programme"
)

// Visit is a lot that somebody should go and see.
type Visit struct {
	Slip              session.Slip
	District, Village string
	Dangers           []programme.Danger // the worst first
	At                time.Time          // when it was checked last
}

// Visits lists the lots chosen by f that are in danger (Settings.Dangers) by what
// was last filed of them, newest first. Unless f asks for a kind of check, each
// lot counts once, by its last.
func (v *View) Visits(f Filter) (list []Visit) {
	f.Kind = cmp.Or(f.Kind, LastCheck)
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	m.must |= markDanger
	var u packed.Reader
	for _, c := range v.chunks {
		for _, i := range m.rows(c, space) {
			k := session.Check{Readings: *u.Readings(c.bytes(int(i)))}
			p := v.shelf.places[c.place[i]]
			list = append(list, Visit{v.shelf.slip(c.slip[i]), p.district, p.village, v.settings.Dangers(&k), time.Unix(int64(c.at[i]), 0)})
		}
	}
	slices.SortFunc(list, func(a, b Visit) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip)) })
	return list
}
