package grading

// Result is the grade of one lot by one standard, with everything that led to
// it. Shares and chances are fractions of 1.
type Result struct {
	StandardID string
	Class      string
	// Grade is the standard's own label; the out-of-grade word or a gate's
	// outcome when the lot is not in the ladder.
	Grade GradeLabel
	// Rank is 1 for the best grade, Of for the last, Of+1 or more out of grade.
	Rank, Of int
	// Complete is false when a required parameter was not measured: Grade is
	// then "no better than".
	Complete bool
	// Borderline says that a deciding parameter lies within its interval of a limit.
	Borderline bool
	// Confidence is the chance that the lot itself, not the sample, has exactly
	// this grade; Better that it has a better one. 0 when Complete is false.
	Confidence, Better float64
	// Deciding are the parameters whose own grade is the lot's grade: what
	// holds it down. None in the best grade, where nothing does.
	Deciding []ParameterID
	// Missing are the required parameters with no value that could still make
	// the grade worse. Complete is true when there are none.
	Missing []ParameterID
	// Gates are the IDs of the gates that hold; Remarks those that only remark,
	// and under a lead rule the parameters over their limit in the lot's grade.
	Gates, Remarks []string
	Parameters     []ParameterResult
	// Other is the likeliest grade but the stated one, and OtherChance its chance.
	Other       GradeLabel
	OtherChance float64
	// Likelier is another grade with a greater chance than the stated one, and
	// LikelierChance is that chance; "" when the stated grade is the likeliest.
	Likelier       GradeLabel
	LikelierChance float64
	// Settle says which measurement settles most of a borderline grade.
	Settle *Settle
	// SettleUp is the same of the measurements that could find a better grade: of
	// what holds the lot down.
	SettleUp *Settle
}

// OutOfGrade reports whether the lot is below the ladder or stopped by a gate.
func (r *Result) OutOfGrade() bool { return r.Rank > r.Of }

// Parameter finds one parameter's result; nil when absent.
func (r *Result) Parameter(id ParameterID) *ParameterResult {
	for i := range r.Parameters {
		if r.Parameters[i].ID == id {
			return &r.Parameters[i]
		}
	}
	return nil
}

// ParameterResult is one parameter of a Result.
type ParameterResult struct {
	ID       ParameterID
	Unit     Unit
	Basis    Basis
	Decimals int
	Found
	// Estimate: see Parameter.Estimate.
	Estimate bool
	Grade    GradeLabel
	Rank     int
	// Limit is the limit of the parameter's own grade (of the last grade when
	// it is out); Next that of the next better grade. nil when there is none.
	Limit, Next *Decimal
	// LimitIsMin says that Limit and Next are minima; LimitOpen that the limit told,
	// Next or else Limit, is not itself met.
	LimitIsMin, LimitOpen bool
	// Low and High bound the lot's true value, 95 %.
	Low, High float64
	// Meets is the chance that the lot meets Limit, MeetsNext that it meets Next.
	Meets, MeetsNext float64
	// ByRank[i] is the chance that the lot meets this parameter's limit of
	// grade i+1 (best first).
	ByRank []float64
	// MostByRank is ByRank for the family of lots in which it is greatest: no
	// chance of several limits together is greater than the product of these.
	MostByRank []float64
}

// Settle is how much more sample would move a borderline parameter clear of its
// limit, if the share stays the same.
type Settle struct {
	Parameter ParameterID
	Grains    int     // to count in all; 0 when weight is what is short
	Grams     Decimal // to sieve and pick in all; 0 when grains are short
	Repeats   int     // moisture readings in all
	// CheckMeter says that only a check of the meter settles it, beside an oven or
	// beside a checked meter.
	CheckMeter bool
	// Minutes is what it takes beside what was measured already. Source: assumed.
	Minutes float64
}

// Beside is what there is to measure beside the readings: the grains, grams and
// moistures that are not among them yet.
func (s Settle) Beside(r *Readings) Settle {
	counted, _ := r.Get(Counted)
	sieved, _ := r.Get(SampleWeight)
	s.Grains = max(s.Grains-int(counted/One), 0)
	s.Grams = max(s.Grams-sieved, 0)
	s.Repeats = max(s.Repeats-len(r.Repeats), 0)
	return s
}
