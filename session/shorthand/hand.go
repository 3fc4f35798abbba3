package shorthand

import (
	"strconv"
	"strings"

	"threshline/grading"
)

// handWords are the words that name a count beside the word of the check: those of
// the readings that it stands for, since "empty 12" counts grains there.
var handWords = map[string]int{
	grading.Counted.String(): 0, grading.Chaff.String(): 1, grading.Stones.String(): 2, grading.ImmatureWeight.String(): 3,
	grading.BrownWeight.String(): 4, grading.Red.String(): 5, grading.PestDamaged.String(): 6, grading.Discoloured.String(): 7,
}

// hand is what is known of a check by hand in the present lot.
type hand struct {
	begun bool
	known [grading.HandCounts]bool
}

// byHand takes the counts behind the word of the check: all, the first four, or
// the grains alone, with words for the others behind.
func (s *slate) byHand(runs []string) {
	if s.lot().Readings.Hand.Made() { // of another lot, perhaps, whose counts would take the place of these
		s.trouble(Problem{Trouble: Twice, Key: handKey, Typed: strings.Join(runs, " ")})
		return
	}
	s.hand.begun = true
	var counts []string
	for _, run := range runs {
		counts = append(counts, strings.FieldsFunc(run, func(r rune) bool { return r == ',' || r == '.' || r == '+' })...)
	}
	if n := len(counts); n != grading.HandCounts && n != grading.HandCounts/2 && n > 1 {
		s.hand.known = [grading.HandCounts]bool{true, true, true, true} // said once is enough
		s.trouble(Problem{Trouble: Uncounted, Key: handKey, Typed: strings.Join(runs, " ")})
		return
	}
	for i, c := range counts {
		s.handCount(i, c)
	}
}

// handWord takes a word that names a count of a check by hand, where that is open.
func (s *slate) handWord(key string, runs []string) bool {
	i, ok := handWords[key]
	if !ok || !s.hand.begun || s.hand.known[i] || len(runs) != 1 || strings.ContainsAny(runs[0], ".,+") {
		return false
	}
	s.handCount(i, runs[0])
	return true
}

func (s *slate) handCount(i int, typed string) {
	s.hand.known[i] = true
	n, err := strconv.ParseUint(strings.NewReplacer("o", "0", "O", "0").Replace(typed), 10, 16)
	if err != nil {
		s.trouble(Problem{Trouble: Impossible, Key: handKey, Typed: typed, Max: grading.MostByHand * grading.One})
		return
	}
	*s.lot().Readings.Hand.Counts()[i] = uint16(n)
}

// endHand asks for the counts that a check by hand lacks: the first four, and of
// the husked grains all or none.
func (s *slate) endHand() {
	h := s.hand
	s.hand = hand{}
	first, second := h.known[0], h.known[4]
	whole := true
	for i, known := range h.known {
		if i < grading.HandCounts/2 {
			whole = whole && known == first
		} else {
			whole = whole && known == second
		}
	}
	if h.begun && (!first || !whole) {
		s.lot().Readings.Hand = grading.Hand{}
		s.trouble(Problem{Trouble: Uncounted, Key: handKey})
	}
}

// wetTest takes what a bitten grain or dry salt did, by its number on the screen.
func (s *slate) wetTest(key, run string) {
	to, most := &s.lot().Bite, 4
	if key == saltKey {
		to, most = &s.lot().Salt, 2
	}
	n, err := strconv.Atoi(run)
	switch {
	case err != nil || n < 1 || n > most:
		s.trouble(Problem{Trouble: Impossible, Key: key, Typed: run, Min: grading.One, Max: grading.NewDecimal(most)})
	case *to > 0 && *to != n:
		s.trouble(Problem{Trouble: Twice, Key: key, Typed: run})
	default:
		*to = n
	}
}
