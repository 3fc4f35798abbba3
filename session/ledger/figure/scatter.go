package figure

import (
	"math"

	"threshline/grading"
)

// Scatter is how readings of one lot, such as those of a meter, lie about their lot's
// mean, over many lots.
type Scatter struct {
	// squares is the sum of squares about the mean, in 1/2520 of a squared hundredth.
	squares int64
	Freedom int64 // degrees of freedom
}

// Add adds the readings of a lot, two to ten.
func (s *Scatter) Add(all []grading.Decimal) {
	k := int64(len(all))
	if k < 2 || k > 10 {
		return
	}
	sum, squares := int64(0), int64(0)
	for _, d := range all {
		h := int64(d / 100)
		sum, squares = sum+h, squares+h*h
	}
	s.squares += (k*squares - sum*sum) * (2520 / k)
	s.Freedom += k - 1
}

// Join adds those of another.
func (s *Scatter) Join(o *Scatter) { s.squares, s.Freedom = s.squares+o.squares, s.Freedom+o.Freedom }

// Without is the scatter less another's part of it.
func (s Scatter) Without(o *Scatter) Scatter {
	return Scatter{s.squares - o.squares, s.Freedom - o.Freedom}
}

// Deviation is the standard deviation of one reading.
func (s *Scatter) Deviation() float64 {
	return math.Sqrt(float64(s.squares) / 2520 / float64(s.Freedom) / 10000)
}

// Pairs are parts that were counted twice, each pair a table of two by two.
type Pairs struct {
	Count                     int // of samples; see Add
	Found, Expected, Variance float64
}

// Add adds x1 of n1 by the one and x2 of n2 by the other.
func (p *Pairs) Add(x1, n1, x2, n2 float64) {
	n, m := n1+n2, x1+x2
	p.Found += x1
	p.Expected += m * n1 / n
	p.Variance += n1 * n2 * m * (n - m) / (n * n * (n - 1))
}

// Off is how far what was found lies from what is expected, in standard deviations:
// Cochran's form of the test of Mantel and Haenszel, with Yates's correction.
func (p *Pairs) Off() float64 {
	return math.Max(0, math.Abs(p.Found-p.Expected)-0.5) / math.Sqrt(p.Variance)
}
