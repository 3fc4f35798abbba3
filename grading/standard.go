package grading

// Status says how far the numbers of a standard can be trusted.
type Status string

// The statuses, best first.
const (
	Published  Status = "published"   // read in the standard itself
	Secondary  Status = "secondary"   // read in another text about it
	Weak       Status = "weak"        // read in a copy whose provenance is doubtful
	FromMemory Status = "from memory" // not read anywhere: never a default, always with a warning
	Demo       Status = "demo"        // invented for the demonstration
)

// Warns reports whether results by such a standard are shown with a warning,
// and the standard is never in force unless a programme names it itself.
func (s Status) Warns() bool { return s == FromMemory || s == Weak }

// Unit is the unit of a parameter's value.
type Unit string

// The units that a parameter can be limited in.
const (
	PercentWeight Unit = "% weight"    // g per 100 g of the basis
	PercentCount  Unit = "% count"     // grains per 100 grains
	PercentWet    Unit = "% wet basis" // moisture
	CountPer500g  Unit = "count/500 g" // grains or seeds in 500 g
	CountPerKg    Unit = "count/kg"    // live insects
	CountInSample Unit = "count"       // in the sample as it is
	MicrogramKg   Unit = "ug/kg"       // toxins
	Millimetre    Unit = "mm"          // sizes
	Word          Unit = "word"        // one of an ordered list of words
)

// Weight is the weight that a count is referred to, g; 0 for other units.
func (u Unit) Weight() Decimal {
	switch u {
	case CountPer500g:
		return 500 * One
	case CountPerKg:
		return 1000 * One
	}
	return 0
}

// Percentage reports whether values of the unit lie between 0 and 100.
func (u Unit) Percentage() bool {
	return u == PercentWeight || u == PercentCount || u == PercentWet
}

// Basis is what a percentage is a share of.
type Basis string

// The bases.
const (
	OfSample Basis = "sample" // the paddy as received
	OfClean  Basis = "clean"  // paddy after cleaning
	OfHusked Basis = "husked" // brown rice
	OfMilled Basis = "milled" // wholly milled rice
	OfGrains Basis = "grains" // grains counted on the pan
)

// TermKind says how one part of a parameter comes out of readings.
type TermKind string

// The kinds of term.
const (
	WeightShare TermKind = "weight"     // 100 * sum(Fields) / Over, both g
	CountShare  TermKind = "count"      // 100 * sum(Fields) / Over, both grains
	MeanOf      TermKind = "mean"       // mean of the repeats of Fields[0]
	CountOf     TermKind = "number"     // sum(Fields) as it is
	CountPer    TermKind = "per weight" // sum(Fields) per Unit.Weight of Over, g
	ValueOf     TermKind = "parameter"  // another parameter's value, times Sign
)

// Term is one part of a parameter: the parameter is the sum of its terms.
type Term struct {
	Kind      TermKind
	Fields    []Field
	Over      Field       // the whole that a share is of
	Parameter ParameterID // for ValueOf
	Negative  bool        // subtract instead of add
	// Times, Of and Over turn a parameter's share of one weight into a part of its
	// share of another: its value times Times (0 is 1) times Of over Over, both g.
	Times Decimal
	Of    Field
	// IfKnown leaves the term out while its parameter has no value. The sum is
	// then the best that it can be, and the grade "no better than".
	IfKnown bool
}

// Parameter is what a standard limits.
type Parameter struct {
	ID       ParameterID
	Label    string // in the standard's own words, English
	Unit     Unit
	Basis    Basis
	Decimals int // that a value is shown with, and rounded to if Standard.RoundFirst
	Terms    []Term
	// Constant is added to the sum of the terms: 100 for a complement.
	Constant Decimal
	// Estimate says that the hand reading estimates another basis (grains
	// counted where the standard weighs).
	Estimate bool
	// Required says that a grade without this value is "no better than".
	Required bool
	// Words are the accepted words of a Word parameter, best first.
	Words []string
	// PartOf names the parameter that this one is an "of which" of: its value
	// can never be the greater.
	PartOf ParameterID
	// Portion is the weight that the standard takes for the determination, g; 0
	// when it does not say. Sieve is its sieve, in its own words.
	Portion Decimal
	Sieve   string
	// Lab is the laboratory's figure that gives the value; "" when none does.
	Lab LabFigure
	// Samples is how many samples the standard takes the mean of, Repeatability what
	// two may differ by, in the unit; 0 when it does not say.
	Samples       int
	Repeatability Decimal
	Note          string
	// Status is how far what the standard says of this parameter can be trusted,
	// where that is less than the rest of the table; "" where it is the same.
	Status Status
}

// Bound is one limit of a parameter in one grade. A nil Min or Max is no limit
// on that side.
type Bound struct {
	Min, Max                   *Decimal
	MinExclusive, MaxExclusive bool
	// WorstWord is the worst word that still meets the grade.
	WorstWord string
}

// None reports whether the bound limits nothing.
func (b *Bound) None() bool { return b.Min == nil && b.Max == nil && b.WorstWord == "" }

// GradeLabel is the standard's own name of a grade, such as "II".
type GradeLabel string

// GradeRow is one grade of the ladder with its limits. Limits are keyed by
// class; the key "" holds those common to all classes.
type GradeRow struct {
	Label  GradeLabel
	Limits map[string]map[ParameterID]Bound
}

// Bound is the limit of a parameter for a class: the class's own, else the one
// common to all classes. It returns false when the grade does not limit it.
func (g *GradeRow) Bound(class string, id ParameterID) (Bound, bool) {
	if b, ok := g.Limits[class][id]; ok {
		return b, !b.None()
	}
	b, ok := g.Limits[""][id]
	return b, ok && !b.None()
}

// Standard is one published table as data. The grading package evaluates it,
// package standard reads it from its file. A Standard is never changed after
// it is loaded and may be shared between goroutines.
type Standard struct {
	ID, Title, Edition, Issuer, Country string
	Source                              string // where the numbers were read: address or tag
	SourceTag                           string // row of testdata/sources/index.txt
	Status                              Status
	Note                                string
	ValidFrom, ValidTo                  string // ISO dates, may be empty
	Parent                              string // ID of the standard that this one relaxes or tightens
	Classes                             []string
	DefaultClass                        string
	Parameters                          []Parameter
	Grades                              []GradeRow // best first
	// OutOfGrade is the standard's own word for a lot under the last grade.
	OutOfGrade GradeLabel
	// RoundFirst says that values are rounded to Decimals before comparing.
	RoundFirst bool
	// MeterStep is the step at which the mean of meter readings is compared, %
	// wet basis, where the standard says nothing of rounding: three readings of
	// 14.0, 14.0 and 14.1 meet a limit of 14. 0: the exact mean is compared.
	MeterStep Decimal
	Rule      Rule
	// Lead is the parameter that alone gives the grade under LeadParam.
	Lead  ParameterID
	Gates []Gate
	// Matrix holds the cells of a Matrix rule.
	Matrix *Matrix
	Prices []PriceRule
}

// InForce reports whether the standard is valid on a day, "2006-01-02". The
// first and the last day belong to it; an end that is not given is open.
func (s *Standard) InForce(day string) bool {
	return (s.ValidFrom == "" || day >= s.ValidFrom) && (s.ValidTo == "" || day <= s.ValidTo)
}

// DefaultMeterStep is what hand meters show, 0.1. Source: common practice, no source.
const DefaultMeterStep = One / 10

// WithMeterStep is the standard for meters of another step; itself, where it says
// itself whether values are rounded.
func (s *Standard) WithMeterStep(step Decimal) *Standard {
	if s.MeterStep == 0 || s.MeterStep == step {
		return s
	}
	other := *s
	other.MeterStep = step
	return &other
}

// ComparedAt is what a parameter's value is rounded to, half up, before it is
// compared with a limit; 0 where the exact value is. A moisture given directly is
// no meter's, and rounded only if the standard rounds.
func (s *Standard) ComparedAt(p *Parameter) Decimal {
	if s.RoundFirst {
		step := One
		for range p.Decimals {
			step /= 10
		}
		return step
	}
	if len(p.Terms) == 1 && p.Terms[0].Kind == MeanOf {
		return s.MeterStep
	}
	return 0
}

// Parameter finds a parameter by its ID; nil when the standard does not have
// it.
func (s *Standard) Parameter(id ParameterID) *Parameter {
	for i := range s.Parameters {
		if s.Parameters[i].ID == id {
			return &s.Parameters[i]
		}
	}
	return nil
}

// Needs lists the fields that the standard's parameters and gates are made
// from, in working order: what a person is to be asked.
func (s *Standard) Needs() []Field {
	var need FieldSet
	for _, p := range s.Parameters {
		for _, t := range p.Terms {
			need |= SetOf(t.Fields...).With(t.Over).With(t.Of)
		}
	}
	for _, g := range s.Gates {
		need |= SetOf(g.Fields...)
	}
	return need.Fields()
}

// Rule is how parameters combine to the lot's grade.
type Rule string

// The rules of combination.
const (
	WorstOf   Rule = "worst"  // the worst parameter decides
	MatrixOf  Rule = "matrix" // two axes give the class
	LeadParam Rule = "lead"   // Lead alone gives the grade, limits of others are remarks
	PassFail  Rule = "pass"   // one grade, passed or not, per class
)

// Gate is a condition outside the ladder: when it holds, the lot gets Outcome,
// or its own grade where that is worse. Outcome may be a grade's label ("not
// better than"), OutOfGrade or a word of its own; the outcomes that are not in
// the ladder are worse in the order in which the gates name them. Flags hold when any of them was reported;
// Insects holds by the OR-rule of [CFR-868 §868.212]; Parameter holds when the
// value breaks Bound.
type Gate struct {
	ID        string
	Outcome   GradeLabel
	Remark    bool // only a remark beside the grade (a special grade)
	Flags     []Flag
	Fields    []Field
	Insects   *InsectRule
	Parameter ParameterID
	Bound     Bound
}

// InsectRule is the OR-rule of live insects: at least Weevils weevils; or one
// weevil and at least WithWeevil others; or at least Others others.
type InsectRule struct{ Weevils, WithWeevil, Others int }

// Matrix is a table of two parameters' bands.
type Matrix struct {
	Row, Column       ParameterID
	RowMax, ColumnMax []Decimal      // upper ends, inclusive; one band more lies above the last
	Cells             [][]GradeLabel // [row band][column band]
}

// PriceRule is an adjustment of price or paid weight by a parameter, kept apart
// from the grade. For every full Step (or part step if Part) that the value
// lies over (or under, if Below) From, Change percent is applied, until the
// change has reached Cap.
type PriceRule struct {
	Parameter ParameterID
	Class     string // "" for all classes
	From      Decimal
	// FromByGrade replaces From for a lot of the grade.
	FromByGrade map[GradeLabel]Decimal
	Below       bool
	Step        Decimal
	Change      Decimal  // percent per step, negative is a cut
	Part        bool     // part steps count in proportion
	Cap         *Decimal // the furthest that the change goes, percent, with its sign
	Decimals    int      // the value is rounded to this many decimals first; -1 not
	Of          string   // "price" or "weight"
	Note        string
}
