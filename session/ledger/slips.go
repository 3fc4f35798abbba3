package ledger

import (
	"cmp"
	"iter"
	"slices"

	"threshline/session"
)

// Slips lists the slips of the checks chosen by f, newest first by when they
// were filed, those of one second by slip.
func (v *View) Slips(f Filter) iter.Seq[session.Slip] {
	return func(yield func(session.Slip) bool) {
		for _, row := range v.newest(&f) {
			if !yield(v.shelf.slip(row.slip)) {
				return
			}
		}
	}
}

// filed is when a slip was filed, seconds since 1970.
type filed struct {
	slip uint64
	at   uint32
}

func (v *View) newest(f *Filter) (list []filed) {
	m := v.match(f)
	space := make([]uint16, 0, chunkRows)
	for _, c := range slices.Backward(v.chunks) { // all but sorted already
		for _, i := range slices.Backward(m.rows(c, space)) {
			list = append(list, filed{c.slip[i], c.at[i]})
		}
	}
	slices.SortFunc(list, func(a, b filed) int {
		if a.at != b.at {
			return cmp.Compare(b.at, a.at)
		}
		return cmp.Compare(v.shelf.slip(a.slip), v.shelf.slip(b.slip))
	})
	return list
}
