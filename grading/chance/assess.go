package chance

import (
	"slices"

	"threshline/grading"
)

// Assess grades the lot and says how sure that is: for every measured
// parameter its 95 % bounds and the chance that the lot itself, not only the
// sample, meets each grade's limit; and from these the chance of the stated
// grade and of a better one.
//
// # The model
//
// The sample is taken to be drawn at random from a lot much larger than it.
//
//   - Counts: x faulty of n grains is binomial. The bounds are Clopper-Pearson
//     [NIST-PRC242], which hold at least 95 % of the time whatever the lot. The
//     chances are the beta posterior with a third of a grain added to the
//     faulty and to the sound, which favours neither side of a limit: bounds
//     with that guarantee are too wide to read chances off.
//   - Weights: a fraction is made of particles of one weight (see Certainty), so m
//     grams are m/weight of them; their number is Poisson, cut to the binomial
//     when they are a large share. The belief is its gamma posterior, again
//     with a third of a particle added. For several kinds in one parameter (chaff
//     and stones) the means and variances are added and a gamma fitted. 20 g holds
//     about 800 grains; of 0.05 g stones at 0.1 % it holds 0.4 on average, and
//     two samples in three show none.
//   - Weights and counts in one parameter: moments are added in the same way.
//   - The scale: an even error of one step, its variance added; when it
//     exceeds the sampling variance, its shape is kept.
//   - Moisture: normal, the meter's repeatability over the number of readings, and
//     what is not known of its bias.
//   - Husked yield: normal, with the published repeatability of husking.
//   - A percentage given directly is taken as a laboratory's, on the portion of
//     Certainty; a word or a toxin as given, since nothing is known of its error.
//
// Parameters are taken as independent, so the chance that a lot is in a grade
// or better is the product over those that give it, or the sum over the cells
// of a matrix. Gates by smell, sight or insects
// are taken as seen; a gate by a limit has its chance.
//
// A lot of an unknown season is of a clean family or of a rough one, and its
// own readings say which is the likelier: each family's chances count by how
// well it foretells them. If it is known what lots usually hold,
// Certainty.Usual replaces both families, and the chances then come true in
// each fifth of the scale. Bags differ, and the sample comes from only some of
// them: Certainty.BagDeviation widens the beliefs, but not the bounds, which
// are those of the sample alone.
//
// The model leaves out that the spear misses a part of the lot, that the lot is
// layered, and that people see red or chalky grains differently.
//
// Errors are those of Grade, and one that wraps ErrCertainty.
func Assess(s *grading.Standard, r grading.Readings, c Certainty) (grading.Result, error) {
	a, err := NewAssessor(s, c)
	if err != nil {
		return grading.Result{}, err
	}
	var res grading.Result
	err = a.Assess(&r, &res)
	return res, err
}

// Assessor assesses many lots by one standard, as Assess does. It is for one
// goroutine at a time.
type Assessor struct {
	believer
	evaluator *grading.Evaluator
	r         *grading.Readings
	res       *grading.Result
	weights   [families]float64
	weighedBy weighed             // the lot that weights are of
	foretold  [families][]float64 // see foretelling
	count     int                 // of kinds that differ
	beliefs   [][families]belief  // parallel to res.Parameters
	met       [families][]float64
	like      [families][]float64 // met of the lot that others are Like
	byRank    []float64           // backs ParameterResult.ByRank and MostByRank
	orBetter  []float64           // by rank, outcomes beyond the ladder included
	ofKind    []float64           // the same by one kind
	noGrade   int                 // the rank of that outcome
	panKnown  map[panKey][]float64
	panLog    map[pan]float64
	trial     grading.Result // of Try, and what it found
	found     []grading.Found
	memory    []memory
	likeWhat  grading.Readings // the lot that others are Like, of likeClass
	likeClass string
	hasLike   bool
}

// believer says what to believe of a value in the lot after what was read.
type believer struct {
	s        *grading.Standard
	c        Certainty
	kinds    [families]kindOfLots
	kind     int      // that is believed in just now
	bounding bounding // what believe is to find
	known    map[[2]float64][2]float64
}

// NewAssessor prepares s. Errors wrap ErrCertainty.
func NewAssessor(s *grading.Standard, c Certainty) (*Assessor, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	n := len(s.Parameters)
	evaluator := grading.NewEvaluator(s)
	ranks := evaluator.Ranks()
	a := &Assessor{
		believer:  believer{s: s, c: c.OrDefault(), kinds: familiesOf(&c), known: make(map[[2]float64][2]float64)},
		evaluator: evaluator, count: families,
		beliefs: make([][families]belief, n), found: make([]grading.Found, n), byRank: make([]float64, 2*n*len(s.Grades)),
		orBetter: make([]float64, ranks), ofKind: make([]float64, ranks), noGrade: evaluator.RankOf(grading.NoGrade),
		weights: [families]float64{1}, weighedBy: make(weighed, len(weighing)),
		panKnown: make(map[panKey][]float64), panLog: make(map[pan]float64), memory: make([]memory, n),
	}
	for k := range a.met {
		a.met[k], a.like[k] = make([]float64, n*len(s.Grades)), make([]float64, n*len(s.Grades))
	}
	if a.kinds[0] == a.kinds[1] {
		a.count = 1
	}
	for k := range a.kinds {
		a.foretold[k] = a.kinds[k].foretelling()
	}
	a.weigh(&grading.Readings{})
	return a, nil
}

// Assess is the function Assess, writing into res and using again the space of
// its slices and of the assessor: an earlier result that a caller still holds
// is overwritten.
func (a *Assessor) Assess(r *grading.Readings, res *grading.Result) error {
	if err := a.evaluator.Grade(r, res); err != nil {
		return err
	}
	a.r, a.res = r, res
	a.weigh(r)
	for i := range res.Parameters {
		a.memory[i].shown = -1
		a.parameter(i)
	}
	if res.Complete {
		a.combine()
	}
	res.Borderline = a.borderline()
	a.settle()
	return nil
}

// parameter fills in one parameter's bounds and chances.
func (a *Assessor) parameter(i int) {
	v, p, grades := &a.res.Parameters[i], &a.s.Parameters[i], len(a.s.Grades)
	a.beliefs[i] = [families]belief{}
	if !v.Measured {
		return
	}
	a.bounding = lower | upper
	a.believeAll(i, v)
	b := &a.beliefs[i][0]
	if b.family == unknown {
		b.low, b.high = v.Value.Float(), v.Value.Float()
	}
	// A step far wider than the reading moves the belief away from it; the
	// bounds still hold what was measured.
	v.Low, v.High = max(min(b.low, v.Value.Float()), 0), max(b.high, v.Value.Float())
	if p.Unit.Percentage() {
		v.High = min(v.High, 100)
	}
	both := a.byRank[2*i*grades : 2*(i+1)*grades : 2*(i+1)*grades]
	v.ByRank, v.MostByRank = both[:grades:grades], both[grades:]
	a.mixed(i, v)
	a.remember(i)
	if grades > 0 {
		v.Meets = v.ByRank[min(max(v.Rank, 1), grades)-1]
		if v.Next != nil && v.Rank >= 2 {
			v.MeetsNext = v.ByRank[min(v.Rank-1, grades)-1]
		}
	}
}

// believeAll builds the belief of each kind of lots in a measured parameter, and
// the chances of its limits. Bounds do not depend on the kind: the first has them.
func (a *Assessor) believeAll(i int, v *grading.ParameterResult) {
	for a.kind = range a.count {
		a.beliefs[i][a.kind] = a.believe(a.r, &a.s.Parameters[i], v)
		a.chances(i, v, &a.beliefs[i][a.kind], a.metBy(a.kind, i))
		a.bounding = 0
	}
	a.kind = 0
}

// metBy is the chances of parameter i's limits, by grade, among lots of kind k.
func (a *Assessor) metBy(k, i int) []float64 {
	n := len(a.s.Grades)
	return a.met[k][i*n : (i+1)*n : (i+1)*n]
}

// mixed fills in the chances of parameter i's limits, whatever the kind.
func (a *Assessor) mixed(i int, v *grading.ParameterResult) {
	clear(v.ByRank)
	clear(v.MostByRank)
	for k := range a.count {
		for rank, chance := range a.metBy(k, i) {
			v.ByRank[rank] += a.weights[k] * chance
			v.MostByRank[rank] = max(v.MostByRank[rank], chance)
		}
	}
}

// under is the chance that the lot's value of parameter i is at most limit.
func (a *Assessor) under(i int, limit float64) (chance float64) {
	for k := range a.count {
		chance += a.weights[k] * a.beliefs[i][k].under(limit)
	}
	return chance
}

// chances fills in the chance of each grade's limit for a measured parameter,
// by a belief.
func (a *Assessor) chances(i int, v *grading.ParameterResult, b *belief, byRank []float64) {
	switch {
	case b.family == unknown:
		for rank := range byRank {
			byRank[rank] = 0
			if v.Rank <= rank+1 {
				byRank[rank] = 1
			}
		}
	case a.s.Rule == grading.MatrixOf && a.s.IsAxis(v.ID):
		a.axis(v.ID, b, byRank)
	case b.family == betaLike:
		a.panRanks(i, b, byRank)
	default:
		a.ranks(i, b, byRank)
	}
}

// panKey is a belief in a share of grains, of one parameter.
type panKey struct {
	i           int
	class       string
	a, b, shift float64
	sign        float64
}

// panRanks is ranks, remembered: pans are of few sizes.
func (a *Assessor) panRanks(i int, b *belief, byRank []float64) {
	key := panKey{i, a.res.Class, b.a, b.b, b.shift, b.sign}
	if known, ok := a.panKnown[key]; ok {
		copy(byRank, known)
		return
	}
	a.ranks(i, b, byRank)
	if len(a.panKnown) < mostBounds {
		a.panKnown[key] = slices.Clone(byRank)
	}
}

// ranks fills in the chance of each grade's limit. Neighbouring grades often
// share a limit, so the last answer is kept.
func (a *Assessor) ranks(i int, b *belief, byRank []float64) {
	table := a.evaluator.Limits(a.res.Class)
	for g := range table {
		bound := &table[g][i]
		switch {
		case bound.Min == nil && bound.Max == nil:
			byRank[g] = 1
		case g > 0 && sameBound(&table[g-1][i], bound):
			byRank[g] = byRank[g-1]
		default:
			byRank[g] = b.within(bound)
		}
	}
}

func sameBound(a, b *grading.Bound) bool {
	same := func(x, y *grading.Decimal) bool {
		return x == y || x != nil && y != nil && *x == *y
	}
	return same(a.Min, b.Min) && same(a.Max, b.Max)
}
