package ledger

import (
	"slices"

	"threshline/session"
)

// chain ties re-checks to the checks before them, in whatever order they are applied.
// If the check before was corrected, the re-check is tied to what replaced it.
type chain struct {
	followers map[uint32][]uint32 // by row: its re-checks, in any state
	waiting   map[uint64][]uint32 // by slip not seen yet: its re-checks
	replaced  map[uint64]uint64   // by slip: the slip that replaced it
	named     map[uint32]uint64   // by re-check: the slip that it names
}

func newChain() chain {
	return chain{map[uint32][]uint32{}, map[uint64][]uint32{}, map[uint64]uint64{}, map[uint32]uint64{}}
}

// longestChain is how many corrections in a row are followed. A longer row is a fault
// of the store.
const longestChain = 16

// link ties a new row to the check that it re-checks, and notes what replaced it.
func (w *writer) link(row uint32, c *session.Check) {
	if c.Recheck != "" {
		w.chain.named[row] = w.books.slipKey(c.Recheck)
		w.tie(row)
	}
	if c.State == session.Corrected && c.ReplacedBy != "" {
		w.chain.replaced[w.books.slipKey(c.Slip)] = w.books.slipKey(c.ReplacedBy)
	}
	w.books.share()
}

// tie finds the check before a re-check. If that is not there yet, the re-check waits
// for it.
func (w *writer) tie(row uint32) {
	key := w.chain.named[row]
	for range longestChain {
		next, ok := w.chain.replaced[key]
		if !ok {
			break
		}
		key = next
	}
	before, ok := w.rows.find(w.chunks, key)
	if !ok {
		w.chain.waiting[key] = append(w.chain.waiting[key], row)
		return
	}
	if before == row {
		return
	}
	w.chain.followers[before] = append(w.chain.followers[before], row)
	w.setBefore(row, before+1)
	if w.marks(row)&markGone == 0 && w.supersedes(row, before) {
		w.follow(before, +1)
	}
}

// supersedes reports whether a re-check, while it is in force, makes the check
// before it old: one by hand does not do that to one with the kit.
func (w *writer) supersedes(row, before uint32) bool {
	return w.marks(row)&markHand == 0 || w.marks(before)&markHand != 0
}

// arrived ties the re-checks that waited for a slip.
func (w *writer) arrived(key uint64) {
	waiting := w.chain.waiting[key]
	delete(w.chain.waiting, key)
	for _, r := range waiting {
		w.tie(r)
	}
}

// relink updates the ties of a row that had the given marks.
func (w *writer) relink(row uint32, was uint8, c *session.Check) {
	gone, is := was&markGone != 0, w.marks(row)&markGone != 0
	before := w.before(row)
	if before != 0 && gone != is && w.supersedes(row, before-1) {
		if is {
			w.follow(before-1, -1)
		} else {
			w.follow(before-1, +1)
		}
	}
	if c.State == session.Corrected && c.ReplacedBy != "" {
		w.chain.replaced[w.books.slipKey(c.Slip)] = w.books.slipKey(c.ReplacedBy)
		w.books.share()
		w.passOn(row)
	}
}

// passOn ties the re-checks of a corrected row to what replaced it.
func (w *writer) passOn(row uint32) {
	followers := slices.Clone(w.chain.followers[row])
	delete(w.chain.followers, row)
	for _, r := range followers {
		if w.marks(r)&markGone == 0 && w.supersedes(r, row) {
			w.follow(row, -1)
		}
		w.setBefore(r, 0)
		w.tie(r)
	}
}

func (w *writer) marks(row uint32) uint8   { return marksAt(w.chunks, row) }
func (w *writer) before(row uint32) uint32 { return w.chunks[row/chunkRows].before[row%chunkRows] }

// setBefore writes the tie of a row. The row of a re-check just filed is beyond what
// any view knows, so nothing is copied for it.
func (w *writer) setBefore(row, before uint32) {
	t, i := w.chunks[row/chunkRows], row%chunkRows
	if int(row) < w.now.Load().count && t.epoch != w.epoch {
		t = t.own(w.epoch)
		w.chunks[row/chunkRows] = t
	}
	t.before[i] = before
}

// follow counts a filed re-check of a row, or takes it back.
func (w *writer) follow(row uint32, by int) {
	n, i := row/chunkRows, row%chunkRows
	t := w.chunks[n]
	if t.later != w.epoch {
		d := *t
		d.followed, d.head, d.later = slices.Clone(t.followed), w.epoch, w.epoch
		d.values = slices.Clone(t.values)
		t, w.chunks[n] = &d, &d
	}
	t.followed[i] = uint8(min(max(int(t.followed[i])+by, 0), 255))
}
