package grading

import (
	"maps"
	"slices"
)

// LabFigure is what a laboratory finds of portions of a lot by husking, milling,
// looking and drying, %.
type LabFigure string

// The figures.
const (
	LabHusked   LabFigure = "husked_yield" // husked rice less half of the imperfect grains, of the clean paddy
	LabMilled   LabFigure = "milled"       // of the clean paddy
	LabHead     LabFigure = "head_rice"    // of the clean paddy
	LabBroken   LabFigure = "broken"       // of the milled rice
	LabChalky   LabFigure = "chalky"       // of the grains looked at, by weight
	LabCracked  LabFigure = "cracked"      // of the grains counted
	LabMoisture LabFigure = "moisture"     // what the oven took away, of the wet weight
)

// LabPortion is what was weighed, g, or counted of one portion, by its name.
type LabPortion map[string]Decimal

// labMethod is how a figure is made: part less half over the whole, or for drying
// what is lost of the whole.
type labMethod struct {
	figure            LabFigure
	part, half, whole string
	lost              bool
	// portions is how many the method takes the mean of; 0 when it does not say.
	portions int
	// repeatability is what two portions in one laboratory differ by at most in 95
	// of 100 cases, points; 0 where no text was read that publishes one.
	repeatability Decimal
	source        string
}

// labMethods are all figures. Milling recovery and head rice are both shares of the
// paddy [IRRI-MILLQ]; cracked grains and the three portions of the oven are in
// [IRRI-PADDYQ]; that the husked yields of two portions differ by one point at most
// is in [ISO-7301-MODEL].
var labMethods = []labMethod{
	{figure: LabHusked, part: "husked_g", half: "imperfect_g", whole: "paddy_g", repeatability: One, source: "[ISO-7301-MODEL]"},
	{figure: LabMilled, part: "milled_g", whole: "paddy_g", source: "[IRRI-MILLQ]"},
	{figure: LabHead, part: "head_g", whole: "paddy_g", source: "[IRRI-MILLQ]"},
	{figure: LabBroken, part: "broken_g", whole: "milled_g", source: "[IRRI-MILLQ]"},
	{figure: LabChalky, part: "chalky_g", whole: "examined_g", source: "[IRRI-MILLQ]"},
	{figure: LabCracked, part: "cracked", whole: "grains", source: "[IRRI-PADDYQ]"},
	{figure: LabMoisture, part: "dry_g", whole: "wet_g", lost: true, portions: 3, source: "[IRRI-PADDYQ]"},
}

// labParts are what can be no more than another: together where several are of one.
var labParts = []struct {
	parts []string
	whole string
}{
	{[]string{"husked_g"}, "paddy_g"}, {[]string{"milled_g"}, "paddy_g"}, {[]string{"milled_g"}, "husked_g"},
	{[]string{"imperfect_g"}, "husked_g"}, {[]string{"head_g", "broken_g"}, "milled_g"}, {[]string{"head_g"}, "paddy_g"},
	{[]string{"chalky_g"}, "examined_g"}, {[]string{"cracked"}, "grains"}, {[]string{"dry_g"}, "wet_g"},
}

// LabFigures lists all figures.
func LabFigures() (out []LabFigure) {
	for _, m := range labMethods {
		out = append(out, m.figure)
	}
	return out
}

// LabNames lists what a portion may hold.
func LabNames() []string {
	names := map[string]bool{}
	for _, m := range labMethods {
		names[m.part], names[m.whole] = true, true
		if m.half != "" {
			names[m.half] = true
		}
	}
	return slices.Sorted(maps.Keys(names))
}

// LabValue is a figure over the portions that have it.
type LabValue struct {
	Figure LabFigure
	Each   []Decimal // %, to four decimals
	Mean   Decimal
	// Wants is how many portions the method, or the standard, takes the mean of; 0
	// when neither says.
	Wants int
	// Repeatability is what two portions may differ by, points; 0 where none is
	// published as far as was read. Source is of it, or of the method.
	Repeatability Decimal
	Source        string
}

// LabSpreadError is for portions that differ by more than the method allows:
// one of them is wrong, and nobody knows which.
type LabSpreadError struct{ LabValue }

func (e *LabSpreadError) Error() string {
	return "grading: two portions differ in " + string(e.Figure) + " by " + e.spread().String() + ", more than the repeatability of " +
		e.Repeatability.String() + " " + e.Source + ": measure both again"
}

func (v *LabValue) spread() Decimal { return slices.Max(v.Each) - slices.Min(v.Each) }

// Laboratory works out what portions show, by the standard's own repeatability where
// it publishes one, else by the method's. Errors are *InputError for a weight that
// cannot be, or is missing where the standard grades by it, and *LabSpreadError.
func Laboratory(s *Standard, portions []LabPortion) (found []LabValue, err error) {
	for _, p := range portions {
		if err := p.check(); err != nil {
			return nil, err
		}
	}
	for i := range labMethods {
		m := &labMethods[i]
		v := LabValue{Figure: m.figure, Wants: m.portions, Repeatability: m.repeatability, Source: m.source}
		sum := Decimal(0)
		for _, p := range portions {
			if share, ok := m.share(p); ok {
				if _, looked := p[m.half]; m.half != "" && !looked && s.LabParameter(m.figure) != nil {
					return nil, &InputError{Field: "lab." + m.half, Want: "the grams of it in the " + m.part + ", 0 where there is none: half of them count"}
				}
				v.Each, sum = append(v.Each, share), sum+share
			}
		}
		if len(v.Each) == 0 {
			continue
		}
		v.Mean = NewRatio(int64(sum), int64(One)*int64(len(v.Each))).Round(decimalPlaces)
		if p := s.LabParameter(m.figure); p != nil {
			v.Wants = max(v.Wants, p.Samples)
			if p.Repeatability > 0 {
				v.Repeatability, v.Source = p.Repeatability, "["+s.SourceTag+"]"
			}
		}
		if v.Repeatability > 0 && v.spread() > v.Repeatability {
			return nil, &LabSpreadError{v}
		}
		found = append(found, v)
	}
	return found, nil
}

// LabParameter is the standard's parameter that a figure gives; nil when none does.
// An oven's moisture gives the one that meter readings give too.
func (s *Standard) LabParameter(f LabFigure) *Parameter {
	for i := range s.Parameters {
		p := &s.Parameters[i]
		if p.Lab == f || f == LabMoisture && len(p.Terms) == 1 && p.Terms[0].Kind == MeanOf {
			return p
		}
	}
	return nil
}

// share is a figure of one portion.
func (m *labMethod) share(p LabPortion) (Decimal, bool) {
	part, there := p[m.part]
	whole, also := p[m.whole]
	if !there || !also || whole == 0 {
		return 0, false
	}
	if m.lost {
		part = whole - part
	}
	return NewRatio(int64(2*part-p[m.half]), 2*int64(whole)).Percent().Round(decimalPlaces), true
}

// check refuses what cannot be.
func (p LabPortion) check() error {
	for name, d := range p {
		if !slices.Contains(LabNames(), name) || d < 0 || d > MaxWeight {
			return &InputError{Field: "lab." + name, Want: "a weight in g or a count, under one of the names of a portion"}
		}
	}
	for _, l := range labParts {
		whole, there := p[l.whole]
		sum := Decimal(0)
		for _, name := range l.parts {
			sum += p[name]
		}
		if there && sum > whole {
			return &InputError{Field: "lab." + l.parts[0], Want: "no more than the " + l.whole + " that it is of"}
		}
	}
	return nil
}

// ShortOfSamples lists the parameters for which the standard takes the mean of
// more samples than were given. It also returns the largest number of samples
// that it wants.
func (s *Standard) ShortOfSamples(given int) (short []ParameterID, wants int) {
	for i := range s.Parameters {
		if p := &s.Parameters[i]; p.Samples > given {
			short, wants = append(short, p.ID), max(wants, p.Samples)
		}
	}
	return short, wants
}
