package ledger

import (
	"maps"
	"slices"

	"threshline/grading"
)

// chunkRows is how many checks one chunk holds: few enough for an update to copy a
// chunk, many enough for reading to run along columns.
const chunkRows = 4096

// The bits of chunk.marks.
const (
	markCorrected uint8 = 1 << iota
	markWithdrawn
	markRecheck
	markBorderline
	markWeighed // the lot's weight is known
	markDanger  // Settings.Dangers finds some
	markPooled  // another sample of a lot to which nothing was done, taken together with the check before
	markHand    // a check by hand
)

// markGone are the marks of checks that the usual view leaves out.
const markGone = markCorrected | markWithdrawn

// chunk is a run of checks in columns. A chunk that a view holds never changes: the
// writer appends to a copy of the header, beyond what the view knows, and copies the
// columns before it changes a row.
type chunk struct {
	head  uint64 // of the Apply that owns the header
	epoch uint64 // of the Apply that owns the columns
	later uint64 // of the Apply that owns followed
	n     int

	slip       []uint64
	position   []uint64
	at         []uint32 // seconds since 1970
	day        []uint16 // civil days since 1970
	verdict    []uint32
	place      []uint32
	agent      []uint32
	reporter   []uint32
	grower     []uint32
	variety    []uint32
	channel    []uint32
	kg         []grading.Decimal
	confidence []uint16 // in ten-thousandths
	marks      []uint8
	before     []uint32 // row of the check before, plus 1; 0 none
	followed   []uint8  // by how many filed re-checks, at most 255
	offset     []uint32 // of the packed readings
	packed     []byte
	// values are by parameter: the value in steps, plus 1; 0 if not measured; wide if
	// it does not fit and is in others. A parameter's column is nil until a check of
	// the chunk has it, and may be shorter than the chunk.
	values [][]uint16
	others map[wideKey]grading.Decimal

	firstDay, lastDay uint16 // bounds of day
	earliest, latest  uint32 // bounds of at
	again             *regraded
}

// marksAt are the marks of a row.
func marksAt(chunks []*chunk, row uint32) uint8 { return chunks[row/chunkRows].marks[row%chunkRows] }

// wide marks a value that does not fit in its column.
const wide = 1<<16 - 1

type wideKey struct{ parameter, row uint32 }

// grow gives a header that the writer may append to.
func (c *chunk) grow(epoch uint64) *chunk {
	d := *c
	d.head = epoch
	d.values = slices.Clone(c.values)
	return &d
}

// own gives a chunk whose rows the writer may change.
func (c *chunk) own(epoch uint64) *chunk {
	d := *c
	d.head, d.epoch, d.later = epoch, epoch, epoch
	d.slip, d.position = slices.Clone(c.slip), slices.Clone(c.position)
	d.at, d.day = slices.Clone(c.at), slices.Clone(c.day)
	d.verdict, d.place, d.agent = slices.Clone(c.verdict), slices.Clone(c.place), slices.Clone(c.agent)
	d.reporter, d.grower = slices.Clone(c.reporter), slices.Clone(c.grower)
	d.variety, d.channel = slices.Clone(c.variety), slices.Clone(c.channel)
	d.kg, d.confidence, d.marks = slices.Clone(c.kg), slices.Clone(c.confidence), slices.Clone(c.marks)
	d.before, d.followed, d.offset = slices.Clone(c.before), slices.Clone(c.followed), slices.Clone(c.offset)
	d.values, d.others = slices.Clone(c.values), maps.Clone(c.others)
	for i := range d.values {
		d.values[i] = slices.Clone(c.values[i])
	}
	return &d
}

// put appends v, or overwrites row i if it exists. A column grows to the rows of a
// chunk in two steps, and then has no room to spare.
func put[T any](column *[]T, i int, v T) {
	c := *column
	if i < len(c) {
		c[i] = v
		return
	}
	if len(c) == cap(c) {
		room(&c, len(c)+1)
	}
	*column = append(c, v)
}

// room makes room in a column for n rows, and for as many more as will probably come.
func room[T any](column *[]T, n int) {
	if n <= cap(*column) {
		return
	}
	rows := 64
	for rows < n {
		rows *= 8
	}
	*column = append(make([]T, 0, min(rows, chunkRows)), *column...)
}

// roomForPacked makes room for n more bytes of readings. If the rows before tell how
// many bytes the next ones will need, it makes room for those too, so that little is
// copied and little stays empty.
func (c *chunk) roomForPacked(n int) {
	need := len(c.packed) + n
	if need <= cap(c.packed) {
		return
	}
	size := max(1<<12, 2*need)
	if c.n >= 256 {
		size = need + need*(chunkRows-c.n)/c.n*33/32
	}
	c.packed = append(make([]byte, 0, size), c.packed...)
}

// setValue records a parameter's value of row i.
func (c *chunk) setValue(p uint32, i int, step, value grading.Decimal) {
	for len(c.values) <= int(p) {
		c.values = append(c.values, nil)
	}
	column := c.values[p]
	for len(column) < i {
		put(&column, len(column), 0)
	}
	cell := uint16(wide)
	if n := value / step; value%step == 0 && n >= 0 && n+1 < wide {
		cell = uint16(n) + 1
	} else {
		c.others = maps.Clone(c.others)
		if c.others == nil {
			c.others = map[wideKey]grading.Decimal{}
		}
		c.others[wideKey{p, uint32(i)}] = value
	}
	put(&column, i, cell)
	c.values[p] = column
}

// value reads a parameter's value of row i.
func (c *chunk) value(p uint32, i int, step grading.Decimal) (grading.Decimal, bool) {
	if int(p) >= len(c.values) || i >= len(c.values[p]) || c.values[p][i] == 0 {
		return 0, false
	}
	if cell := c.values[p][i]; cell != wide {
		return grading.Decimal(cell-1) * step, true
	}
	return c.others[wideKey{p, uint32(i)}], true
}

// bytes are the packed readings of row i, and what follows them.
func (c *chunk) bytes(i int) []byte { return c.packed[c.offset[i]:] }
