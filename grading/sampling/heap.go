package sampling

import "threshline/grading"

// Place is where in a heap to spear. The text "spear.heap" says all places in
// one.
type Place string

// The places of one round: the middle, and four points half way between it and
// the edge, since what rolls to the edge is not like the rest.
const (
	Middle Place = "middle"
	North  Place = "quarter_1"
	East   Place = "quarter_2"
	South  Place = "quarter_3"
	West   Place = "quarter_4"
)

// Heap is how to spear a heap or a bulk store.
type Heap struct {
	// Rounds is how often to go through Places, each time on another part.
	Rounds int
	Places []Place
	// Depths are how deep to spear at each place, as percent of the heap's
	// height from the top.
	Depths []int
}

// roundKG is how much paddy one round of a heap stands for, kg: one sample per
// 10 t. Source: [EU-708-1998 Article 8].
const roundKG = 10000

// InHeap is the plan for a heap of kg kilograms: five places, three depths, and
// a round for every 10 t. A weight of 0, not known, gives one round. Source of
// places and depths: common practice, no source.
func InHeap(kg grading.Decimal) Heap {
	rounds := 1
	if tens := (kg + roundKG*grading.One - 1) / (roundKG * grading.One); tens > 1 {
		rounds = int(tens)
	}
	return Heap{
		Rounds: rounds,
		Places: []Place{Middle, North, East, South, West},
		Depths: []int{10, 50, 90},
	}
}

// Spears is how many times to push the spear in all.
func (h Heap) Spears() int { return h.Rounds * len(h.Places) * len(h.Depths) }
