package ledger

import (
	"math"

	"threshline/grading"
	"threshline/session/ledger/figure"
)

// What a test needs at least, and what it allows. Source: our choice,
// [ASSUMED-QUALITY].
const (
	leastDigits  = 50 // readings of one field: five of each digit, as chi-square wants
	leastShares  = 10 // checks or pairs
	leastFreedom = 20
	// likeOwn is how much more often a reporter's own lots are alike by chance than the
	// lots of two reporters.
	likeOwn = 10
	// usualShare is the share of checks that may be odd with nobody asking.
	usualShare = 0.2
	// exactShare: the parts may well be made to fit by subtracting.
	exactShare = 0.5
	// betterMeter is how much better than stated a meter may repeat.
	betterMeter = 0.5
)

// lastDigits tests, reading by reading, whether all ten last digits are equally common:
// chi-square with nine degrees of freedom. They are if readings spread over several
// tens of their last digit, and only then is it tested. For moisture the place is that
// of the whole programme, for weights that of the reporter's own scale.
func (e *evidence) lastDigits() (all []Finding) {
	finest := e.finest()
	for _, r := range e.reporters {
		for _, f := range digitFields {
			d := &r.digits[f]
			if d.Len() == 0 {
				continue // never asked for
			}
			if d.Len() < leastDigits {
				e.leave(LastDigits, TooFew)
				continue
			}
			place, spread := d.Place(), 20.0
			if f == grading.Moisture {
				place, spread = finest, 6 // all but normal, so that less is enough
			}
			if d.Deviation() < spread*math.Pow(10, float64(figure.Places-1-place)) {
				e.leave(LastDigits, TooAlike)
				continue
			}
			flag := Finding{Reason: LastDigits, Reporter: r.id, Field: f, Checks: d.Len(), Expected: 0.1, Freedom: 9}
			flag.Statistic, flag.Digit, flag.Found = d.Uneven(place)
			flag.Chance = figure.ChiSquareChance(flag.Statistic, flag.Freedom)
			all = append(all, flag)
		}
	}
	return all
}

// shares tests the share of odd checks by the exact binomial. It compares the share
// with what may be odd without anybody asking, or with the share among the others if
// that is larger.
func (e *evidence) shares() (all []Finding) {
	meter, step := e.meter()
	for _, kind := range [...]struct {
		reason Reason
		usual  float64
		of     func(*reports) (odd, n int)
	}{
		{EqualRepeats, figure.ThreeAlike(betterMeter*meter, step), func(r *reports) (int, int) { return r.equal, r.repeated }},
		{FastPace, usualShare, func(r *reports) (int, int) { return r.hasty, r.paced }},
		{BalanceExact, exactShare, func(r *reports) (int, int) { return r.exact, r.balanced }},
		{BalanceEdge, usualShare, func(r *reports) (int, int) { return r.edge, r.weighed }},
		{RecheckGrades, 0.5, func(r *reports) (int, int) { return r.better, r.better + r.worse }},
	} {
		sumOdd, sum := 0, 0
		for _, r := range e.reporters {
			odd, n := kind.of(r)
			sumOdd, sum = sumOdd+odd, sum+n
		}
		for _, r := range e.reporters {
			odd, n := kind.of(r)
			if n < leastShares {
				if n > 0 {
					e.leave(kind.reason, TooFew)
				}
				continue
			}
			f := Finding{Reason: kind.reason, Reporter: r.id, Checks: n, Found: float64(odd) / float64(n), Expected: kind.usual}
			if others := sum - n; others > 0 {
				f.Expected = max(f.Expected, min(float64(sumOdd-odd+1)/float64(others+1), 1))
			}
			f.Chance = figure.AtLeast(odd, n, f.Expected)
			all = append(all, f)
		}
	}
	return all
}
