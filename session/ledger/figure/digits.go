package figure

import (
	"math"

	"threshline/grading"
)

// Digits are readings of one field, by the place of the last digit: units,
// tenths, hundredths.
type Digits struct {
	n, sum, squares int64 // of the readings, in hundredths
	last            [Places][10]int
}

// Places is how many places are looked at.
const Places = 3

// Add adds a reading.
func (d *Digits) Add(v grading.Decimal) {
	h := int64(v / 100)
	d.n, d.sum, d.squares = d.n+1, d.sum+h, d.squares+h*h
	d.last[0][h/100%10]++
	d.last[1][h/10%10]++
	d.last[2][h%10]++
}

// Join adds the readings of another.
func (d *Digits) Join(o *Digits) {
	d.n += o.n
	for p := range d.last {
		for i := range d.last[p] {
			d.last[p][i] += o.last[p][i]
		}
	}
}

// Place is the finest at which more than one reading in twenty has a digit
// other than 0.
func (d *Digits) Place() int {
	for p := Places - 1; p > 0; p-- {
		if int64(d.last[p][0])*20 < d.n*19 {
			return p
		}
	}
	return 0
}

// Deviation is the standard deviation, in hundredths.
func (d *Digits) Deviation() float64 {
	mean := float64(d.sum) / float64(d.n)
	return math.Sqrt(max(0, float64(d.squares)/float64(d.n)-mean*mean))
}

// Len is how many readings there are.
func (d *Digits) Len() int { return int(d.n) }

// Uneven is the chi-square statistic of the last digits at a place, nine degrees of
// freedom, with the commonest digit and its share.
func (d *Digits) Uneven(place int) (statistic float64, digit int, share float64) {
	expected, most := float64(d.n)/10, -1
	for one, n := range d.last[place] {
		statistic += (float64(n) - expected) * (float64(n) - expected) / expected
		if n > most {
			most, digit = n, one
		}
	}
	return statistic, digit, float64(most) / float64(d.n)
}
