package grading

import (
	"strconv"
	"strings"
)

// HandCounts is how many numbers a whole check by hand has, the handfuls apart.
const HandCounts = 8

// Counts are the counts in the order in which they are sent: grains, empty, stones,
// green; husked, red, bored, discoloured.
func (h *Hand) Counts() [HandCounts]*uint16 {
	return [...]*uint16{&h.Grains, &h.Empty, &h.Stones, &h.Green, &h.Husked, &h.Red, &h.Bored, &h.Discoloured}
}

// String is the counts as they are sent, such as "200 12 1 6 50 4 0 1": the first
// four where nothing was husked, and "" where no check was made.
func (h Hand) String() string {
	counts := h.Counts()
	all := counts[:]
	switch {
	case !h.Made():
		return ""
	case h.Husked == 0:
		all = all[:HandCounts/2]
	}
	var out []string
	for _, c := range all {
		out = append(out, strconv.Itoa(int(*c)))
	}
	return strings.Join(out, " ")
}
