package standard

import (
	"slices"
	"strconv"

	"threshline/grading"
)

var (
	units = []string{
		string(grading.PercentWeight), string(grading.PercentCount), string(grading.PercentWet),
		string(grading.CountPer500g), string(grading.CountPerKg), string(grading.CountInSample),
		string(grading.MicrogramKg), string(grading.Millimetre), string(grading.Word),
	}
	bases = []string{
		string(grading.OfSample), string(grading.OfClean), string(grading.OfHusked),
		string(grading.OfMilled), string(grading.OfGrains),
	}
	labFigures = func() (names []string) {
		for _, f := range grading.LabFigures() {
			names = append(names, string(f))
		}
		return names
	}()
)

// parameters reads [[parameter]]. One with the id of a parent's replaces it.
func (f *file) parameters(t *table, s *grading.Standard) {
	var here []string
	for _, pt := range t.list("parameter", "id") {
		p := f.parameter(pt, s)
		if p.ID == "" {
			continue
		}
		if slices.Contains(here, string(p.ID)) {
			pt.wrong(pt.node.get("id"), "id", "every parameter only once")
			continue
		}
		here = append(here, string(p.ID))
		if old := s.Parameter(p.ID); old != nil {
			*old = p
		} else {
			s.Parameters = append(s.Parameters, p)
		}
	}
	if len(s.Parameters) == 0 {
		t.missing("parameter", "at least one [[parameter]]")
	}
}

func (f *file) parameter(t *table, s *grading.Standard) grading.Parameter {
	p := grading.Parameter{
		ID:       grading.ParameterID(t.needText("id", "a name such as \"foreign_matter\"")),
		Label:    t.needText("label", "the parameter's name in the standard's own words"),
		Unit:     grading.Unit(t.choice("unit", units)),
		Basis:    grading.Basis(t.choice("basis", bases)),
		Estimate: t.flag("estimate"),
		Required: t.flag("required"),
		PartOf:   grading.ParameterID(t.text("part_of")),
		Sieve:    t.text("sieve"),
		Note:     t.text("note"),
		Status:   grading.Status(t.choice("status", statuses)),
	}
	if p.ID != "" && !snake.MatchString(string(p.ID)) {
		t.wrong(t.node.get("id"), "id", "lower-case words joined by underscores")
	}
	if p.Unit == "" && !t.has("unit") {
		t.missing("unit", oneOf(units))
	}
	if p.Unit.Percentage() && p.Basis == "" && !t.has("basis") {
		t.missing("basis", oneOf(bases))
	}
	p.Decimals, _ = t.whole("decimals", 0, 4)
	if p.Unit.Percentage() && !t.has("decimals") {
		t.missing("decimals", "how many decimals a value is shown with, 0 to 4")
	}
	if d := t.decimal("portion_g"); d != nil {
		p.Portion = *d
	}
	p.Lab = grading.LabFigure(t.choice("lab", labFigures))
	p.Samples, _ = t.whole("samples", 1, 100)
	if d := t.decimal("repeatability"); d != nil {
		p.Repeatability = *d
	}
	if d := t.decimal("constant"); d != nil {
		p.Constant = *d
	}
	p.Words = t.texts("words")
	if (p.Unit == grading.Word) != (len(p.Words) > 0) && p.Unit != "" {
		f.fault(f.at(t.key("words")), t.key("words"), "", "a list of words, best first, with the unit \"word\" and with no other")
	}
	f.terms(t, s, &p)
	t.done()
	return p
}

// terms reads from: how the value is made of readings.
func (f *file) terms(t *table, s *grading.Standard, p *grading.Parameter) {
	for _, tt := range t.list("from", "") {
		term, ok := f.term(tt, s)
		tt.done()
		if !ok {
			continue
		}
		if term.Kind == grading.CountShare && p.Unit == grading.PercentWeight && !p.Estimate {
			f.fault(tt.node.line, tt.key("count"), "", "estimate = true, because the standard weighs what is counted here")
		}
		if term.Kind == grading.CountPer && p.Unit.Weight() == 0 {
			f.fault(tt.node.line, tt.key("count_per_weight"), "", "the unit \"count/500 g\" or \"count/kg\"")
		}
		p.Terms = append(p.Terms, term)
	}
}

// termForms says, for each kind of term, its key, and the kinds of field that
// its parts and its whole are.
var termForms = []struct {
	key         string
	kind        grading.TermKind
	part, whole grading.FieldKind
	hasWhole    bool
}{
	{"weight", grading.WeightShare, grading.WeightField, grading.WeightField, true},
	{"count", grading.CountShare, grading.CountField, grading.CountField, true},
	{"count_per_weight", grading.CountPer, grading.CountField, grading.WeightField, true},
	{"number", grading.CountOf, grading.CountField, 0, false},
	{"mean", grading.MeanOf, grading.PercentField, 0, false},
}

func (f *file) term(t *table, s *grading.Standard) (grading.Term, bool) {
	term := grading.Term{Negative: t.flag("subtract")}
	over, of, given := t.text("over"), t.text("of"), 0
	for _, form := range termForms {
		if !t.has(form.key) {
			t.asked = append(t.asked, form.key)
			continue
		}
		given++
		term.Kind = form.kind
		term.Fields = f.fields(t, form.key, form.part)
		if form.hasWhole {
			term.Over = f.field(t, "over", over, form.whole)
		} else if over != "" {
			t.wrong(t.node.get("over"), "over", "nothing: "+form.key+" is not a share")
		}
	}
	if id := t.text("parameter"); id != "" {
		given++
		term.Kind, term.Parameter = grading.ValueOf, grading.ParameterID(id)
		if other := s.Parameter(term.Parameter); other == nil || other.Unit == grading.Word {
			f.fault(f.at(t.key("parameter")), t.key("parameter"), strconv.Quote(id), "a parameter with a number that stands above this one")
		}
		if of != "" {
			term.Of, term.Over = f.field(t, "of", of, grading.WeightField), f.field(t, "over", over, grading.WeightField)
		}
	}
	term.IfKnown = t.flag("if_known")
	if d := t.decimal("times"); d != nil {
		term.Times = *d
	}
	if (term.IfKnown || term.Times != 0 || of != "") && term.Kind != grading.ValueOf {
		f.fault(t.node.line, t.path, "", "times, of and if_known with a parameter only")
	}
	if given != 1 {
		f.fault(t.node.line, t.path, "", "exactly one of weight, count, count_per_weight, number, mean, parameter")
	}
	return term, given == 1
}

func (f *file) fields(t *table, key string, k grading.FieldKind) (out []grading.Field) {
	names := t.texts(key)
	if len(names) == 0 {
		f.fault(f.at(t.key(key)), t.key(key), "", "a list of fields: "+oneOf(fieldNames(k)))
	}
	for _, name := range names {
		if field := f.field(t, key, name, k); field != grading.NoField {
			out = append(out, field)
		}
	}
	return out
}

func (f *file) field(t *table, key, name string, k grading.FieldKind) grading.Field {
	field, ok := grading.ParseField(name)
	if ok && field.Kind() == k {
		return field
	}
	got := strconv.Quote(name)
	if name == "" {
		got = "nothing"
	}
	known := fieldNames(k)
	f.fault(f.at(t.key(key)), t.key(key), got, oneOf(known)).Hint = nearest(name, known)
	return grading.NoField
}

func fieldNames(k grading.FieldKind) (out []string) {
	for _, field := range grading.Fields() {
		if field.Kind() == k {
			out = append(out, field.String())
		}
	}
	return out
}

// unknownParameter reports a name that no parameter has.
func (f *file) unknownParameter(line int, key, id string, s *grading.Standard) {
	known := make([]string, len(s.Parameters))
	for i := range s.Parameters {
		known[i] = string(s.Parameters[i].ID)
	}
	want := "a parameter of this standard: " + oneOf(known)
	if len(known) == 0 {
		want = "a parameter of this standard"
	}
	f.fault(line, key, strconv.Quote(id), want).Hint = nearest(id, known)
}
