package ledger

import (
	"cmp"
	"iter"
	"math/bits"
	"slices"
	"time"

	"threshline/session"
	"threshline/session/ledger/packed"
	"threshline/session/programme"
)

// Slips lists the slips of the checks chosen by f, newest first by when they were
// filed, and by slip within one second. Taking one page costs the work for that page,
// not for the season, if checks were filed roughly in the order of their time.
func (v *View) Slips(f Filter) iter.Seq[session.Slip] {
	return func(yield func(session.Slip) bool) {
		r := v.unroll(&f)
		for n := firstRun; ; n = min(n*8, longestRun) {
			run := r.next(n)
			for _, row := range run {
				if !yield(v.shelf.slip(row.slip)) {
					return
				}
			}
			if len(run) < n {
				return
			}
		}
	}
}

// firstRun is how many slips are looked for at first: more than a page shows. Later
// runs are longer, up to two megabytes.
const (
	firstRun   = 128
	longestRun = 1 << 16
)

// filed is when a slip was filed, seconds since 1970.
type filed struct {
	slip uint64
	at   uint32
}

// unrolling goes through the matching checks from the newest, run by run.
type unrolling struct {
	v      *View
	m      matcher
	chunks []*chunk // by latest, the last first
	last   *filed   // given out already, with all before it
	best   []filed
	space  []uint16
}

func (v *View) unroll(f *Filter) *unrolling {
	r := &unrolling{v: v, m: v.match(f), chunks: slices.Clone(v.chunks), space: make([]uint16, 0, chunkRows)}
	slices.SortStableFunc(r.chunks, func(a, b *chunk) int { return cmp.Compare(b.latest, a.latest) })
	return r
}

// next finds the n newest that were not returned yet, or all that are left. Its result
// is valid until the next call.
func (r *unrolling) next(n int) []filed {
	r.best = slices.Grow(r.best[:0], 2*n)
	full := false // the n-th of best bounds what may still come
	for _, c := range r.chunks {
		if !full && len(r.best) >= n {
			full = r.trim(n)
		}
		if full && c.latest < r.best[n-1].at {
			break
		}
		if r.last != nil && c.earliest > r.last.at {
			continue
		}
		for _, i := range slices.Backward(r.m.rows(c, r.space)) {
			row := filed{c.slip[i], c.at[i]}
			if r.last != nil && r.compare(row, *r.last) <= 0 || full && r.compare(row, r.best[n-1]) >= 0 {
				continue
			}
			if r.best = append(r.best, row); len(r.best) == 2*n {
				full = r.trim(n)
			}
		}
	}
	r.trim(n)
	if len(r.best) > 0 {
		last := r.best[len(r.best)-1]
		r.last = &last
	}
	return r.best
}

// trim keeps the n newest, in order, and reports whether there are as many.
func (r *unrolling) trim(n int) bool {
	slices.SortFunc(r.best, r.compare)
	r.best = r.best[:min(n, len(r.best))]
	return len(r.best) == n
}

// compare puts the newest first.
func (r *unrolling) compare(a, b filed) int {
	if a.at != b.at {
		return cmp.Compare(b.at, a.at)
	}
	if (a.slip|b.slip)>>63 == 0 { // short ones: as text, by their bytes from the first
		return cmp.Compare(a.slip<<(bits.LeadingZeros64(a.slip)&^7), b.slip<<(bits.LeadingZeros64(b.slip)&^7))
	}
	return cmp.Compare(r.v.shelf.slip(a.slip), r.v.shelf.slip(b.slip))
}

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
