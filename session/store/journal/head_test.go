package journal

import (
	"bytes"
	"errors"
	"testing"
)

// A journal that holds nothing yet is known again with any one bit of its title
// changed; a file of somebody else's is not taken for one.
func TestOneBitInTheHeadOfAnEmptyJournal(t *testing.T) {
	whole := append([]byte(title), make([]byte, IDSize)...)
	for bit := range len(title) * 8 {
		flipped := bytes.Clone(whole)
		flipped[bit/8] ^= 1 << (bit % 8)
		r, id, err := Read(bytes.NewReader(flipped), int64(len(flipped)))
		if err != nil || r == nil || id != nil {
			t.Fatalf("bit %d: id %x, %v", bit, id, err)
		}
	}
	foreign := bytes.Repeat([]byte("x"), len(whole))
	if _, _, err := Read(bytes.NewReader(foreign), int64(len(foreign))); !errors.Is(err, ErrForeign) {
		t.Errorf("somebody else's file: %v", err)
	}
}
