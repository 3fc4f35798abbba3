package figure

import "threshline/grading/chance"

// Share is Count of Of.
type Share struct{ Count, Of int }

// Value is the share as a fraction of 1; 0 of none.
func (s Share) Value() float64 {
	if s.Of == 0 {
		return 0
	}
	return float64(s.Count) / float64(s.Of)
}

// Interval is the exact 95 % interval of the share, as fractions of 1: were the
// checks a sample of many such lots, the share of all would lie inside in at
// least 95 of 100 samples. 0 to 1 when there are none. Source: [NIST-PRC242],
// by chance.Interval.
func (s Share) Interval() (low, high float64) {
	low, high, err := chance.Interval(s.Count, s.Of, 0.95)
	if err != nil {
		return 0, 1
	}
	return low, high
}
