package ledger

import "threshline/grading"

// couple is the lots of a chunk after two effects, one after the other.
type couple struct {
	treated
	asked uint64 // when it was asked for last
}

// mostCouples is how many couples a chunk keeps. The what-if of a whole season asks for
// eleven; filters with another best remedy ask for others. All possible couples would
// take as much memory as the checks.
const mostCouples = 24

// pairs grades what a chunk's lots would be after a first effect and each of the
// seconds, one after the other. If only one of the two applies, that one counts. single
// has been called before.
func (g *regrader) pairs(c *chunk, first int, seconds []int) []treated {
	k := c.again
	k.mu.Lock()
	defer k.mu.Unlock()
	both := k.couples(first, seconds)
	from := c.n
	for _, t := range both {
		g.room(t, g.effects[first].season, c.n)
		from = min(from, len(t.rank))
	}
	for i := from; i < c.n; i++ {
		g.twice(k, c, i, first, seconds, both)
	}
	out := make([]treated, len(both))
	for n := range both {
		out[n] = *both[n]
	}
	return out
}

// couples finds or begins what is kept for a first effect with each of the seconds, and
// drops what was not asked for longest.
func (k *regraded) couples(first int, seconds []int) (both []*treated) {
	if k.both == nil {
		k.both = map[[2]int]*couple{}
	}
	k.asked++
	for _, second := range seconds {
		key := [2]int{first, second}
		if k.both[key] == nil {
			k.both[key] = &couple{}
		}
		k.both[key].asked = k.asked
		both = append(both, &k.both[key].treated)
	}
	for len(k.both) > mostCouples {
		var oldest [2]int
		least := k.asked
		for key, pair := range k.both {
			if pair.asked < least {
				oldest, least = key, pair.asked
			}
		}
		if least == k.asked {
			break // all were asked for just now
		}
		delete(k.both, oldest)
	}
	return both
}

// twice grades row i after two effects, for each second that it lacks.
func (g *regrader) twice(k *regraded, c *chunk, i, first int, seconds []int, both []*treated) {
	var s *grader
	var next grading.Readings
	var factor float64
	x, season := &k.after[first], g.effects[first].season
	for n, second := range seconds {
		t, y := both[n], &k.after[second]
		switch {
		case len(t.rank) > i:
			continue
		case x.rank[i] == 0:
			g.same(t, season, y, i)
			continue
		case y.rank[i] == 0:
			g.same(t, season, x, i)
			continue
		case s == nil:
			s = g.grader(c, i)
			r := g.unpack.Readings(c.bytes(i))
			g.rank(s, r) // for what stays as it is
			next, factor, _ = g.done(s.Standard, r, first)
		}
		last, more, applies := g.done(s.Standard, &next, second)
		if !applies {
			g.same(t, season, x, i)
			continue
		}
		rank, band := g.rankAgain(s, &last, g.effects[first].changes|g.effects[second].changes, season)
		g.add(t, season, rank, factor*more, band)
	}
}

// same appends what row i is after one effect alone.
func (g *regrader) same(t *treated, season bool, from *treated, i int) {
	g.add(t, season, from.rank[i], from.kept(uint16(i)), from.bandOf(uint16(i)))
}
