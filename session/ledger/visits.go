package ledger

import (
	"cmp"
	"slices"
	"time"

	"threshline/session"
	"threshline/session/programme"
)

// Visit is a lot that somebody should go and see.
type Visit struct {
	Slip              session.Slip
	District, Village string
	Dangers           []programme.Danger // the worst first
	At                time.Time          // when it was checked last
}

// Visits lists the lots chosen by f that are in danger by what was last filed
// of them, newest first. dangers says so of a check of which it is given
// nothing but the readings. Unless f asks for a kind of check, each lot counts
// once, by its last.
func (v *View) Visits(f Filter, dangers func(*session.Check) []programme.Danger) (list []Visit) {
	if f.Kind == AnyKind {
		f.Kind = LastCheck
	}
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	var u unpacker
	for _, c := range v.chunks {
		for _, i := range m.rows(c, space) {
			k := session.Check{Readings: *u.readings(c, int(i))}
			if found := dangers(&k); len(found) > 0 {
				p := v.shelf.places[c.place[i]]
				list = append(list, Visit{v.shelf.slip(c.slip[i]), p.district, p.village, found, time.Unix(int64(c.at[i]), 0)})
			}
		}
	}
	slices.SortFunc(list, func(a, b Visit) int { return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Slip, b.Slip)) })
	return list
}
