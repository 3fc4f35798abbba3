package ledger

import (
	"math"
	"slices"
	"sync"

	"threshline/advice"
	"threshline/grading"
	"threshline/session/ledger/packed"
)

// effect is one thing that can be done to all lots. Remedies that change the readings
// alike share it.
type effect struct {
	remedy advice.RemedyID // one of those that have it
	season bool
	// changes are the bits of the fields that it changes where no value was
	// given directly; all for drying.
	changes grading.FieldSet
}

// remedies lists what a what-if tries: every remedy that changes readings, and its
// effect.
func remedies() (tried []*advice.Remedy, effectOf []int, effects []effect) {
	for _, r := range advice.Remedies() {
		if r.When == advice.ThisLot && !r.Changes() {
			continue
		}
		tried = append(tried, advice.RemedyOf(r.ID))
		if n := slices.IndexFunc(effects, func(e effect) bool { return r.AlikeIn(advice.RemedyOf(e.remedy)) }); n >= 0 {
			effectOf = append(effectOf, n)
			continue
		}
		effectOf = append(effectOf, len(effects))
		e := effect{remedy: r.ID, season: r.When == advice.NextSeason}
		for _, t := range r.Effects {
			e.changes = e.changes.With(t.Field)
		}
		if r.Dries {
			e.changes = ^grading.FieldSet(0)
		} else if !e.season {
			e.changes = e.changes.With(grading.SampleWeight)
		}
		effects = append(effects, e)
	}
	return tried, effectOf, effects
}

// regraded keeps what a chunk's lots are by their own readings, and what they would be
// after each effect, since grading them all again takes seconds. It holds for every
// view of the chunk: readings never change once filed.
type regraded struct {
	mu     sync.Mutex
	n      int
	before []uint8   // rank, 0 not graded: table unknown or readings refused
	band   []uint8   // of the buyer's deductions, by moisture; nil when there are none
	after  []treated // by effect
	both   map[[2]int]*couple
	asked  uint64 // how often pairs were asked for
}

// treated is the lots of a chunk after something was done to each.
type treated struct {
	rank   []uint8  // 0 where it does not apply
	factor []uint16 // of the lot's weight, in 65535ths; nil when all keep theirs
	band   []uint8  // nil when the buyer does not deduct
}

const wholeLot = 1<<16 - 1

// kept is the share of the weight of row i that remains.
func (t *treated) kept(i uint16) float64 {
	if t.factor == nil {
		return 1
	}
	return float64(t.factor[i]) / wholeLot
}

func (t *treated) bandOf(i uint16) uint8 {
	if t.band == nil {
		return 0
	}
	return t.band[i]
}

// room makes room for n rows' outcomes.
func (g *regrader) room(t *treated, season bool, n int) {
	room(&t.rank, n)
	if !season {
		room(&t.factor, n)
	}
	if g.bands {
		room(&t.band, n)
	}
}

// add appends a row's outcome.
func (g *regrader) add(t *treated, season bool, rank uint8, factor float64, band uint8) {
	put(&t.rank, len(t.rank), rank)
	if !season {
		put(&t.factor, len(t.factor), uint16(math.Round(factor*wholeLot)))
	}
	if g.bands {
		put(&t.band, len(t.band), band)
	}
}

// regrader grades lots as they would be. It is for one goroutine.
type regrader struct {
	v       *View
	effects []effect
	graders []*grader // by table; nil not prepared yet, or not known
	unpack  packed.Reader
	bands   bool    // the buyer deducts by moisture
	none    []uint8 // bands of lots when not
}

// grader is a table, prepared.
type grader struct {
	*grading.Standard
	evaluator *grading.Evaluator
	water     int // the parameter that is the mean of the meter's readings; -1 none
}

func (v *View) newRegrader(effects []effect) *regrader {
	return &regrader{
		v: v, effects: effects, graders: make([]*grader, len(v.shelf.tables)), bands: len(v.settings.Advice.Deductions) > 0,
		none: make([]uint8, chunkRows),
	}
}

// grader is the table of row i; nil when it is not known.
func (g *regrader) grader(c *chunk, i int) *grader {
	table := g.v.shelf.verdicts[c.verdict[i]].table
	if s := g.v.shelf.standards[table]; s != nil && g.graders[table] == nil {
		g.graders[table] = &grader{s, grading.NewEvaluator(s), waterIn(s)}
	}
	return g.graders[table]
}

// rank grades readings; 0 when they are refused.
func (g *regrader) rank(s *grader, r *grading.Readings) (rank, band uint8) {
	n, err := s.evaluator.Rank(r)
	return g.kept(s, n, err)
}

// rankAgain is rank for a lot after an effect, or after two of one kind; rank was last
// asked about that lot.
func (g *regrader) rankAgain(s *grader, r *grading.Readings, changes grading.FieldSet, season bool) (rank, band uint8) {
	n, err := s.evaluator.RankAgain(r, changes, season)
	return g.kept(s, n, err)
}

// kept is an evaluator's answer as it is kept.
func (g *regrader) kept(s *grader, rank int, err error) (kept, band uint8) {
	if err != nil {
		return 0, 0
	}
	return uint8(min(rank, 255)), g.bandOf(s)
}

// bandOf is the place of the found moisture in the buyer's deductions: 0 no cut, n the
// n-th band, beyond the last if the buyer does not take it.
func (g *regrader) bandOf(s *grader) uint8 {
	bands := g.v.settings.Advice.Deductions
	if len(bands) == 0 || s.water < 0 {
		return 0
	}
	water := s.evaluator.Ranked(s.water)
	if !water.Measured || water.Value.Cmp(bands[0].Over) <= 0 {
		return 0
	}
	for i, b := range bands {
		if water.Value.Cmp(b.Over) > 0 && water.Value.Cmp(b.UpTo) <= 0 {
			return uint8(min(i+1, 254))
		}
	}
	return uint8(min(len(bands)+1, 255))
}

// waterIn is where a table has the mean of the meter's readings; -1 nowhere.
func waterIn(s *grading.Standard) int {
	return slices.IndexFunc(s.Parameters, func(p grading.Parameter) bool {
		return slices.ContainsFunc(p.Terms, func(t grading.Term) bool { return t.Kind == grading.MeanOf })
	})
}

// single grades a chunk for every effect, and returns it as far as this view's chunk
// goes.
func (g *regrader) single(c *chunk) (before, band []uint8, after []treated) {
	k := c.again
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.after == nil {
		k.after = make([]treated, len(g.effects))
	}
	if k.n < c.n {
		room(&k.before, c.n)
		if g.bands {
			room(&k.band, c.n)
		}
		for i := range k.after {
			g.room(&k.after[i], g.effects[i].season, c.n)
		}
	}
	for ; k.n < c.n; k.n++ {
		g.row(k, c, k.n)
	}
	if band = k.band; !g.bands {
		band = g.none
	}
	return k.before[:c.n], band[:c.n], slices.Clone(k.after)
}

// row grades row i after every effect.
func (g *regrader) row(k *regraded, c *chunk, i int) {
	s := g.grader(c, i)
	var before, band uint8
	var r *grading.Readings
	if s != nil {
		r = g.unpack.Readings(c.bytes(i))
		before, band = g.rank(s, r)
	}
	put(&k.before, i, before)
	if g.bands {
		put(&k.band, i, band)
	}
	for n := range g.effects {
		if before == 0 {
			g.add(&k.after[n], g.effects[n].season, 0, 1, band)
			continue
		}
		next, factor, applies := g.done(s.Standard, r, n)
		if !applies {
			g.add(&k.after[n], g.effects[n].season, 0, 1, band)
			continue
		}
		rank, water := g.rankAgain(s, &next, g.effects[n].changes, g.effects[n].season)
		g.add(&k.after[n], g.effects[n].season, rank, factor, water)
	}
}

// done does an effect to readings.
func (g *regrader) done(s *grading.Standard, r *grading.Readings, n int) (grading.Readings, float64, bool) {
	if g.effects[n].season {
		next, applies := advice.NextLot(s, *r, g.effects[n].remedy)
		return next, 1, applies
	}
	return advice.After(s, *r, g.effects[n].remedy)
}
