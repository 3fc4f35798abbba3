package ledger

import (
	"cmp"
	"encoding/binary"
	"hash/fnv"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session/ledger/figure"
)

// moisture notes whether a lot's moisture readings are all equal, and a fingerprint of
// them in their order.
func (e *evidence) moisture(c *chunk, i int, r *reports, all []grading.Decimal) {
	if len(all) < 3 {
		return
	}
	r.repeated++
	h, same := fnv.New64a(), true
	for _, d := range all {
		var b [8]byte
		binary.LittleEndian.PutUint64(b[:], uint64(d))
		h.Write(b[:])
		same = same && d == all[0]
	}
	if same {
		r.equal++
	}
	e.moistures = append(e.moistures, fingerprint{h.Sum64(), c.reporter[i], c.grower[i]})
}

// meter is the repeatability of the programme's meters and the step of their display,
// both in points.
func (e *evidence) meter() (repeatability, step float64) {
	repeatability = chance.DefaultCertainty().MeterRepeatability
	if m := e.v.settings.Advice.MeterRepeatability; m > 0 {
		repeatability = m.Float()
	}
	return repeatability, math.Pow(10, -float64(e.finest()))
}

// finest is the place of the last digit that the programme's meters show.
func (e *evidence) finest() int {
	var meters figure.Digits
	for _, r := range e.reporters {
		meters.Join(&r.digits[grading.Moisture])
	}
	return meters.Place()
}

// narrowRepeats tests whether the repeats of one lot scatter less than those of a meter
// that is twice as good as the programme's is said to be, or as the others' are if that
// is better: the lower tail of chi-square. It does not test if a meter's display is too
// coarse to show so little.
func (e *evidence) narrowRepeats() (all []Finding) {
	meter, step := e.meter()
	var whole figure.Scatter
	for _, r := range e.reporters {
		whole.Join(&r.scatter)
	}
	for _, r := range e.reporters {
		if r.scatter.Freedom < leastFreedom {
			e.leave(NarrowRepeats, TooFew)
			continue
		}
		expected := figure.Shown(meter, step)
		if others := whole.Without(&r.scatter); others.Freedom > 0 {
			expected = min(expected, others.Deviation())
		}
		least := betterMeter * expected
		if least < step/2 {
			e.leave(NarrowRepeats, TooCoarse)
			continue
		}
		f := Finding{Reason: NarrowRepeats, Reporter: r.id, Checks: r.checks, Expected: expected, Freedom: float64(r.scatter.Freedom)}
		f.Found = r.scatter.Deviation()
		f.Statistic = f.Found * f.Found * f.Freedom / (least * least)
		f.Chance = mathext.GammaIncReg(f.Freedom/2, f.Statistic/2)
		all = append(all, f)
	}
	return all
}

// again counts how many of a reporter's prints repeat an earlier print of another
// grower's lot. It asks how likely so many are: as a Poisson number, at likeOwn times
// the rate at which two reporters' lots agree.
func (e *evidence) again(reason Reason, prints []fingerprint) (all []Finding) {
	slices.SortFunc(prints, func(a, b fingerprint) int {
		return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.reporter, b.reporter), cmp.Compare(a.grower, b.grower))
	})
	checks, copies := map[uint32]int{}, map[uint32]int{}
	across, pairs := 0.0, pairsOf(len(prints))
	for i := 0; i < len(prints); {
		j := i
		for own := i; j < len(prints) && prints[j].hash == prints[i].hash; j++ {
			p := &prints[j]
			if checks[p.reporter]++; j > i && p.reporter == prints[j-1].reporter {
				if p.grower != prints[j-1].grower {
					copies[p.reporter]++
				}
			} else if j > i {
				own = j
			}
			across += float64(own - i) // those of other reporters before
		}
		i = j
	}
	for _, n := range checks {
		pairs -= pairsOf(n)
	}
	rate := likeOwn * (across + 1) / (pairs + 1)
	for _, r := range e.reporters {
		n := checks[r.number]
		if n < leastShares {
			if n > 0 {
				e.leave(reason, TooFew)
			}
			continue
		}
		f := Finding{Reason: reason, Reporter: r.id, Checks: n, Found: float64(copies[r.number]), Expected: rate * pairsOf(n), Chance: 1}
		if copies[r.number] > 0 {
			f.Chance = mathext.GammaIncReg(f.Found, f.Expected)
		}
		all = append(all, f)
	}
	return all
}

func pairsOf(n int) float64 { return float64(n) * float64(n-1) / 2 }
