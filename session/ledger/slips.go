package ledger

import (
	"iter"
	"slices"

	"threshline/session"
)

// Slips lists the slips of the checks chosen by f, the last to be filed first.
func (v *View) Slips(f Filter) iter.Seq[session.Slip] {
	return func(yield func(session.Slip) bool) {
		m := v.match(&f)
		space := make([]uint16, 0, chunkRows)
		for _, c := range slices.Backward(v.chunks) {
			rows := m.rows(c, space)
			for _, i := range slices.Backward(rows) {
				if !yield(v.shelf.slip(c.slip[i])) {
					return
				}
			}
		}
	}
}
