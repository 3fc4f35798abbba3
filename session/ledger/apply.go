package ledger

import (
	"time"

	"threshline/session"
	"threshline/session/ledger/packed"
)

// writer is one Apply under way.
type writer struct {
	*Ledger
	chunks []*chunk
	count  int
	space  []byte
}

// slipKey turns a slip into a number: its own bytes, or for more than eight bytes its
// place in a list.
func (b *books) slipKey(s session.Slip) uint64 {
	if key, ok := packed.Slip(s); ok {
		return key
	}
	return 1<<63 | uint64(wordOf(&b.word, string(s)))
}

// slip is the inverse of slipKey.
func (s *shelf) slip(key uint64) session.Slip {
	if key>>63 != 0 {
		return session.Slip(s.words[key&^(1<<63)])
	}
	return packed.SlipOf(key)
}

func (w *writer) apply(c *session.Check) {
	key := w.books.slipKey(c.Slip)
	row, known := w.rows.find(w.chunks, key)
	if !known {
		row = uint32(w.count)
		w.count++
		w.put(row, key, c)
		w.rows.add(w.chunks, row)
		w.books.share()
		w.link(row, c)
		w.arrived(key)
		return
	}
	old := w.chunks[row/chunkRows]
	i := int(row % chunkRows)
	if c.Position < old.position[i] {
		return
	}
	was := old.marks[i]
	w.put(row, key, c)
	w.books.share()
	w.relink(row, was, c)
}

// tail returns the chunk of a row to write into: the last one, a new one, or a copy of
// the columns of one.
func (w *writer) tail(row uint32) *chunk {
	n := int(row / chunkRows)
	switch {
	case n == len(w.chunks):
		w.chunks = append(w.chunks, &chunk{
			head: w.epoch, epoch: w.epoch, later: w.epoch, firstDay: 1<<16 - 1, earliest: 1<<32 - 1, again: &regraded{},
		})
	case int(row%chunkRows) < w.chunks[n].n:
		if w.chunks[n].epoch != w.epoch {
			w.chunks[n] = w.chunks[n].own(w.epoch)
		}
	case w.chunks[n].head != w.epoch:
		w.chunks[n] = w.chunks[n].grow(w.epoch)
	}
	return w.chunks[n]
}

// put writes a check into its row.
func (w *writer) put(row uint32, key uint64, c *session.Check) {
	t, i, b := w.tail(row), int(row%chunkRows), &w.books
	put(&t.slip, i, key)
	put(&t.position, i, c.Position)
	at := seconds(c.At)
	put(&t.at, i, at)
	t.earliest, t.latest = min(t.earliest, at), max(t.latest, at)
	day := w.day(c.At)
	put(&t.day, i, day)
	t.firstDay, t.lastDay = min(t.firstDay, day), max(t.lastDay, day)
	verdict := b.verdictOf(c)
	if i < t.n && b.verdicts[verdict].table != b.verdicts[t.verdict[i]].table {
		t.again = &regraded{}
	}
	put(&t.verdict, i, verdict)
	put(&t.place, i, b.place.id(place{c.Lot.District, c.Lot.Village}))
	put(&t.agent, i, wordOf(&b.agent, c.Agent))
	put(&t.reporter, i, wordOf(&b.person, c.Reporter))
	put(&t.grower, i, wordOf(&b.person, c.Lot.Grower))
	put(&t.variety, i, wordOf(&b.variety, c.Lot.Variety))
	put(&t.channel, i, wordOf(&b.channel, c.Channel))
	put(&t.kg, i, max(0, c.Lot.KG))
	put(&t.confidence, i, uint16(min(max(c.Confidence, 0), 1)*10000+0.5))
	marks := marksOf(c)
	if w.settings.Dangers != nil && len(w.settings.Dangers(c)) > 0 {
		marks |= markDanger
	}
	put(&t.marks, i, marks)
	if i == t.n {
		put(&t.before, i, 0)
		put(&t.followed, i, 0)
	}
	w.putReadings(t, i, c)
	w.putValues(t, i, c)
	t.n = max(t.n, i+1)
}

// putReadings packs the readings. They never change once filed, so an update normally
// finds them as they are. If they differ, the row points to the new ones, and
// everything graded again for the chunk is forgotten.
func (w *writer) putReadings(t *chunk, i int, c *session.Check) {
	w.space = packed.Append(w.space[:0], c)
	if i < t.n {
		from := int(t.offset[i])
		if to := from + len(w.space); to <= len(t.packed) && string(t.packed[from:to]) == string(w.space) {
			return
		}
		t.again = &regraded{}
	}
	put(&t.offset, i, uint32(len(t.packed)))
	t.roomForPacked(len(w.space))
	t.packed = append(t.packed, w.space...)
}

func (w *writer) putValues(t *chunk, i int, c *session.Check) {
	if i < t.n {
		for p := range t.values {
			if i < len(t.values[p]) {
				t.values[p][i] = 0
			}
		}
	}
	table := w.books.verdicts[t.verdict[i]].table
	for id, v := range c.Values {
		p := w.books.parameterOf(table, id)
		t.setValue(p, i, w.books.parameters[p].step, v)
	}
}

func marksOf(c *session.Check) (m uint8) {
	switch c.State {
	case session.Corrected:
		m |= markCorrected
	case session.Withdrawn:
		m |= markWithdrawn
	}
	if !c.First() {
		m |= markRecheck
	}
	if c.Pooled() {
		m |= markPooled
	}
	if c.Readings.ByHand() {
		m |= markHand
	}
	if c.Borderline {
		m |= markBorderline
	}
	if c.Lot.KG > 0 {
		m |= markWeighed
	}
	return m
}

// seconds since 1970, as far as the column reaches (2106).
func seconds(t time.Time) uint32 { return uint32(min(max(t.Unix(), 0), 1<<32-1)) }

// day is the civil day in the ledger's zone, in days since 1970.
func (l *Ledger) day(t time.Time) uint16 { return dayOf(t, l.settings.Zone) }

func dayOf(t time.Time, zone *time.Location) uint16 {
	_, shift := t.In(zone).Zone()
	days := (t.Unix() + int64(shift)) / 86400
	return uint16(min(max(days, 0), 1<<16-2))
}
