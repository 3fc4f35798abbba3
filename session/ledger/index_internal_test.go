package ledger

import (
	"math/rand/v2"
	"testing"
)

func TestTheIndexFindsWhatAMapFinds(t *testing.T) {
	const seed, n = 41, 20_000
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	var x rowIndex
	var chunks []*chunk
	rows := map[uint64]uint32{}
	if _, ok := x.find(nil, 0); ok {
		t.Error("an empty index finds something")
	}
	for row := uint32(0); row < n; {
		key := rng.Uint64N(n) << (8 * rng.IntN(5)) // keys that differ in few bits, as slips do; some come again
		if _, known := rows[key]; known {
			continue
		}
		if row%chunkRows == 0 {
			chunks = append(chunks, &chunk{})
		}
		c := chunks[len(chunks)-1]
		c.slip = append(c.slip, key)
		x.add(chunks, row)
		rows[key] = row
		row++
	}
	for key, want := range rows {
		if got, ok := x.find(chunks, key); !ok || got != want {
			t.Fatalf("key %x: row %d, %v; want %d", key, got, ok, want)
		}
	}
	for range n {
		key := rng.Uint64()
		if _, known := rows[key]; known {
			continue
		}
		if row, ok := x.find(chunks, key); ok {
			t.Fatalf("key %x was never added, and is found in row %d", key, row)
		}
	}
	if 4*x.n > 3*len(x.slots) || x.n != n {
		t.Errorf("%d keys in %d slots", x.n, len(x.slots))
	}
}
