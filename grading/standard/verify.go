package standard

import (
	"fmt"
	"slices"
	"strconv"

	"threshline/grading"
)

// verify checks what can be seen only after the whole file is read.
func (f *file) verify(s *grading.Standard) {
	f.verifyRule(s)
	if len(s.Classes) == 0 && s.DefaultClass != "" {
		f.fault(f.at("default_class"), "default_class", strconv.Quote(s.DefaultClass), "no default without classes")
	}
	for i := range s.Parameters {
		f.verifyParameter(s, i)
	}
	before := len(f.faults)
	for i := range s.Parameters {
		f.verifyLadder(s, "", &s.Parameters[i])
	}
	if len(f.faults) > before {
		return // each class would only repeat it
	}
	for _, class := range s.Classes {
		for i := range s.Parameters {
			f.verifyLadder(s, class, &s.Parameters[i])
		}
	}
	f.verifyLimitsUsed(s)
}

func (f *file) verifyRule(s *grading.Standard) {
	if (s.Rule == grading.MatrixOf) != (s.Matrix != nil) {
		f.fault(f.at("matrix"), "matrix", "", "a [matrix] with rule = \"matrix\" and with no other rule")
	}
	if (s.Rule == grading.LeadParam) != (s.Lead != "") {
		f.fault(f.at("lead"), "lead", "", "the leading parameter with rule = \"lead\" and with no other rule")
	}
	if s.Lead != "" && s.Parameter(s.Lead) == nil {
		f.unknownParameter(f.at("lead"), "lead", string(s.Lead), s)
	}
	if s.Rule == grading.PassFail && len(s.Grades) != 1 {
		f.fault(f.at("rule"), "rule", "\"pass\"", "exactly one [[grade]]: what a lot is called that passes")
	}
	if i := slices.IndexFunc(s.Grades, func(g grading.GradeRow) bool { return g.Label == s.OutOfGrade }); i >= 0 {
		f.fault(f.at("out_of_grade"), "out_of_grade", strconv.Quote(string(s.OutOfGrade)), "a word that is not the label of a grade")
	}
}

// mostWholes is how many different wholes the shares of one parameter may have. With
// more, exact sums of fractions no longer fit into 64 bits.
const mostWholes = 2

func (f *file) verifyParameter(s *grading.Standard, i int) {
	p := &s.Parameters[i]
	key := "parameter." + string(p.ID)
	if p.PartOf != "" {
		if whole := s.Parameter(p.PartOf); whole == nil || whole.ID == p.ID || whole.Unit != p.Unit {
			f.unknownParameter(f.at(key+".part_of"), key+".part_of", string(p.PartOf), s)
		}
	}
	for _, t := range p.Terms {
		if t.Kind != grading.ValueOf {
			continue
		}
		before := slices.ContainsFunc(s.Parameters[:i], func(q grading.Parameter) bool { return q.ID == t.Parameter })
		if !before {
			f.fault(f.at(key+".from"), key+".from", strconv.Quote(string(t.Parameter)), "a parameter that stands above this one")
		}
	}
	if n := len(wholesOf(s, i, nil)); n > mostWholes {
		f.fault(f.at(key+".from"), key+".from", fmt.Sprintf("shares of %d wholes", n), fmt.Sprintf("shares of at most %d different wholes", mostWholes))
	}
}

// wholesOf lists the wholes that a parameter's value is made of, through the
// parameters above it.
func wholesOf(s *grading.Standard, i int, found []grading.Field) []grading.Field {
	for _, t := range s.Parameters[i].Terms {
		if t.Over != grading.NoField && !slices.Contains(found, t.Over) {
			found = append(found, t.Over)
		}
		for j := range i {
			if t.Kind != grading.ValueOf || s.Parameters[j].ID != t.Parameter {
				continue
			}
			for _, f := range wholesOf(s, j, nil) {
				if f != t.Of && !slices.Contains(found, f) { // it is no longer a share of what it is multiplied by
					found = append(found, f)
				}
			}
		}
	}
	return found
}

// verifyLadder checks that no grade is stricter than a better one.
func (f *file) verifyLadder(s *grading.Standard, class string, p *grading.Parameter) {
	var last grading.Bound
	var lastLabel grading.GradeLabel
	for i := range s.Grades {
		g := &s.Grades[i]
		b, ok := g.Bound(class, p.ID)
		if !ok {
			continue
		}
		key := "grade." + string(g.Label)
		if b.Min != nil && b.Max != nil && *b.Min > *b.Max {
			f.fault(f.limitLine(key, class, p.ID), key, fmt.Sprintf("%s from %s to %s", p.ID, b.Min, b.Max), "a minimum under the maximum")
		}
		if lastLabel != "" && stricter(&b, &last, p.Words) {
			f.fault(f.limitLine(key, class, p.ID), key, fmt.Sprintf("a limit of %s that is stricter than that of %q", p.ID, lastLabel),
				"grades best first, with limits that only get wider")
		}
		last, lastLabel = b, g.Label
	}
}

// limitLine is the line of whichever table of the grade limits the parameter.
func (f *file) limitLine(key, class string, id grading.ParameterID) int {
	for _, table := range []string{key + ".class." + class, key} {
		for _, end := range []string{"max", "min", "below", "above", "word"} {
			if line, ok := f.lines[table+"."+end+"."+string(id)]; ok {
				return line
			}
		}
	}
	return f.at(key)
}

// stricter reports whether b refuses anything that better, the limit of a better grade,
// accepts. It compares only the sides that both of them limit.
func stricter(b, better *grading.Bound, words []string) bool {
	if b.Max != nil && better.Max != nil && (*b.Max < *better.Max ||
		*b.Max == *better.Max && b.MaxExclusive && !better.MaxExclusive) {
		return true
	}
	if b.Min != nil && better.Min != nil && (*b.Min > *better.Min ||
		*b.Min == *better.Min && b.MinExclusive && !better.MinExclusive) {
		return true
	}
	return b.WorstWord != "" && better.WorstWord != "" &&
		slices.Index(words, b.WorstWord) < slices.Index(words, better.WorstWord)
}

// verifyLimitsUsed finds a grade without limits, which every lot would pass, and limits
// beside a matrix, which nothing would read.
func (f *file) verifyLimitsUsed(s *grading.Standard) {
	for i := range s.Grades {
		key := "grade." + string(s.Grades[i].Label)
		switch none := len(s.Grades[i].Limits) == 0; {
		case s.Rule == grading.MatrixOf && !none:
			f.fault(f.at(key), key, "limits", "a label only, because the matrix gives the grade")
		case s.Rule != grading.MatrixOf && none:
			f.fault(f.at(key), key, "no limit", "at least one limit: max, min, below, above or word")
		}
	}
}
