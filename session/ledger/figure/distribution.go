package figure

import "threshline/grading"

// Distribution is how the values of one parameter of one table lie, as they
// were shown when filed: rounded to the standard's decimals, or to more where these
// would put a value on the wrong side of a limit.
type Distribution struct {
	Standard, Edition string
	Procedure         int // of the readings: see session.Procedure
	Parameter         grading.ParameterID
	// Label, Unit, Basis and Decimals are the standard's; empty when its table
	// is not known to the ledger.
	Label    string
	Unit     grading.Unit
	Basis    grading.Basis
	Decimals int
	// Measured have a value, of the lots by the same table.
	Measured Share
	Mean     float64
	Min, Max grading.Decimal
	// The quantiles are values that occur: the least that the share of lots
	// does not exceed.
	P5, P25, Median, P75, P95 grading.Decimal
	// Limits are the grades' limits, best grade first, of the default class.
	Limits []Limit
	// Values are all values that occur, ascending.
	Values []Value
}

// Limit is one grade's limit of a parameter.
type Limit struct {
	Grade grading.GradeLabel
	Rank  int
	Bound grading.Bound
	// Meets is how many shown values meet it: as many as the lots that do.
	Meets Share
}

// Value is how many lots have a value.
type Value struct {
	Value grading.Decimal
	Lots  int
}

// Bin is one bar of a histogram: the values from First to Last, both inclusive, and
// what lies less than a step before or behind them because it was shown with more
// decimals, beside a limit. It is drawn from From to To.
type Bin struct {
	From, To    grading.Decimal
	First, Last grading.Decimal
	Lots        int
}

// Bins groups the values into at most most bars of one round width, 1, 2 or 5
// times a power of ten and never under the last decimal shown. Every bar is
// drawn from a whole multiple of the width, so that round limits fall between
// two bars. A value that lies right between two bars is in the one of its own
// side of the limit there: what meets a limit is never drawn beyond it.
func (d *Distribution) Bins(most int) []Bin {
	if len(d.Values) == 0 || most < 1 {
		return nil
	}
	step := grading.One
	for range d.Decimals {
		step /= 10
	}
	step = max(step, 1)
	width := step
	for i := 0; (d.Max/width-d.Min/width)+2 > grading.Decimal(max(most, 2)); i++ {
		width = width * [3]grading.Decimal{2, 5, 2}[i%3] / [3]grading.Decimal{1, 2, 1}[i%3]
	}
	lower := func(v grading.Decimal) bool {
		// Where a bar holds one value alone, 0 has one of its own; else it begins the first.
		return d.lower(v) && (v != 0 || width == step)
	}
	bin := func(v grading.Decimal) grading.Decimal {
		if v%width == 0 && lower(v) {
			return v/width - 1
		}
		return v / width
	}
	first := bin(d.Min)
	bins := make([]Bin, bin(d.Max)-first+1)
	for i := range bins {
		from := (first + grading.Decimal(i)) * width
		b := Bin{From: from, To: from + width, First: from, Last: from + width}
		if lower(b.From) {
			b.First += step
		}
		if !lower(b.To) {
			b.Last -= step
		}
		bins[i] = b
	}
	for _, v := range d.Values {
		bins[bin(v.Value)-first].Lots += v.Lots
	}
	return bins
}

// lower reports whether a value right between two bars belongs to the lower one:
// as the limit there says, or else as the parameter's limits are mostly made.
func (d *Distribution) lower(v grading.Decimal) bool {
	highest, least := 0, 0
	for _, l := range d.Limits {
		if m := l.Bound.Max; m != nil {
			if highest++; *m == v {
				return !l.Bound.MaxExclusive
			}
		}
		if m := l.Bound.Min; m != nil {
			if least++; *m == v {
				return l.Bound.MinExclusive
			}
		}
	}
	return highest > least
}

// Describe works the figures out of the values, of so many lots.
func (d *Distribution) Describe(of int) {
	n, sum := 0, int64(0)
	for _, v := range d.Values {
		n += v.Lots
		sum += int64(v.Value) * int64(v.Lots)
	}
	d.Measured = Share{n, of}
	d.Mean = float64(sum) / float64(n) / float64(grading.One)
	d.Min, d.Max = d.Values[0].Value, d.Values[len(d.Values)-1].Value
	d.P5, d.P25, d.Median = d.quantile(5), d.quantile(25), d.quantile(50)
	d.P75, d.P95 = d.quantile(75), d.quantile(95)
}

// quantile is the least value that at least percent of the lots do not exceed.
func (d *Distribution) quantile(percent int) grading.Decimal {
	below := 0
	for _, v := range d.Values {
		below += v.Lots
		if below*100 >= percent*d.Measured.Count {
			return v.Value
		}
	}
	return d.Max
}

// Meet sets the limits of a table that has the parameter.
func (d *Distribution) Meet(s *grading.Standard) {
	for i := range s.Grades {
		bound, ok := s.Grades[i].Bound(s.DefaultClass, d.Parameter)
		if !ok {
			continue
		}
		l := Limit{Grade: s.Grades[i].Label, Rank: i + 1, Bound: bound, Meets: Share{Of: d.Measured.Count}}
		for _, v := range d.Values {
			if bound.Meets(v.Value) {
				l.Meets.Count += v.Lots
			}
		}
		d.Limits = append(d.Limits, l)
	}
}
