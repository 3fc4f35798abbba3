package ledger

// rowIndex finds rows by slip key. It holds only the rows and looks the keys up in the
// columns, and so takes a third of the memory of a map with both.
type rowIndex struct {
	slots []uint32 // row plus 1, 0 empty; a power of two of them, a quarter empty at least
	n     int
}

// find finds the row of a key.
func (x *rowIndex) find(chunks []*chunk, key uint64) (row uint32, ok bool) {
	if len(x.slots) == 0 {
		return 0, false
	}
	for i := x.first(key); ; i = (i + 1) & (len(x.slots) - 1) {
		row := x.slots[i]
		if row == 0 {
			return 0, false
		}
		if row--; chunks[row/chunkRows].slip[row%chunkRows] == key {
			return row, true
		}
	}
}

// add adds a row whose key is in the columns, and not yet in the index.
func (x *rowIndex) add(chunks []*chunk, row uint32) {
	if x.n++; 4*x.n > 3*len(x.slots) {
		old := x.slots
		x.slots = make([]uint32, max(1024, 2*len(old)))
		for _, r := range old {
			if r != 0 {
				x.put(chunks, r-1)
			}
		}
	}
	x.put(chunks, row)
}

func (x *rowIndex) put(chunks []*chunk, row uint32) {
	i := x.first(chunks[row/chunkRows].slip[row%chunkRows])
	for x.slots[i] != 0 {
		i = (i + 1) & (len(x.slots) - 1)
	}
	x.slots[i] = row + 1
}

// first is where a key belongs. Slips are text, and so their keys are scattered first:
// by a multiplier near the golden section, and its high bits.
func (x *rowIndex) first(key uint64) int {
	key ^= key >> 32
	return int(key*0x9e3779b97f4a7c15>>32) & (len(x.slots) - 1)
}
