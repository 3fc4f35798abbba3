package standard

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"time"

	"threshline/grading"
)

var (
	idForm  = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	tagForm = regexp.MustCompile(`^[A-Z][A-Z0-9.]*(-[A-Z0-9.]+)*$`)
)

var (
	statuses = []string{string(grading.Published), string(grading.Secondary), string(grading.Weak), string(grading.FromMemory), string(grading.Demo)}
	rules    = []string{string(grading.WorstOf), string(grading.MatrixOf), string(grading.LeadParam), string(grading.PassFail)}
)

// Load reads a standard file, named name in its faults. A file with a parent
// is laid over it: find looks the parent up by its id and may be nil when no
// parent is allowed. The error is of type [Faults] and lists everything that is
// wrong with the file.
func Load(name string, data []byte, find func(id string) (*grading.Standard, error)) (*grading.Standard, error) {
	root, err := parse(name, data)
	if err != nil {
		return nil, err
	}
	f := &file{name: name, lines: make(map[string]int)}
	s := f.read(root, find)
	if len(f.faults) == 0 {
		f.verify(s)
	}
	if len(f.faults) > 0 {
		f.faults.sort()
		return nil, f.faults
	}
	s.StopUnfit()
	return s, nil
}

// read fills a standard from the whole tree; what is wrong goes to the faults.
func (f *file) read(root *node, find func(id string) (*grading.Standard, error)) *grading.Standard {
	t := f.table("", root)
	s := f.base(t, find)
	f.identity(t, s)
	f.parameters(t, s)
	f.grades(t, s)
	f.gates(t, s)
	f.matrix(t, s)
	f.prices(t, s)
	t.done()
	return s
}

// base is what the file is laid over: a copy of its parent, or nothing.
func (f *file) base(t *table, find func(id string) (*grading.Standard, error)) *grading.Standard {
	id := t.text("parent")
	if id == "" {
		return &grading.Standard{Rule: grading.WorstOf, MeterStep: grading.DefaultMeterStep}
	}
	if find == nil {
		f.fault(f.at("parent"), "parent", strconv.Quote(id), "no parent here")
		return &grading.Standard{Rule: grading.WorstOf}
	}
	parent, err := find(id)
	if err != nil {
		f.fault(f.at("parent"), "parent", strconv.Quote(id), fmt.Sprintf("the id of another standard (%v)", err))
		return &grading.Standard{Rule: grading.WorstOf}
	}
	s := clone(parent)
	s.Parent = parent.ID
	return s
}

// clone copies what may change when a file is laid over its parent.
func clone(parent *grading.Standard) *grading.Standard {
	s := *parent
	s.Parameters = slices.Clone(parent.Parameters)
	s.Gates = slices.Clone(parent.Gates)
	s.Grades = slices.Clone(parent.Grades)
	for i := range s.Grades {
		limits := make(map[string]map[grading.ParameterID]grading.Bound, len(s.Grades[i].Limits))
		for class, bounds := range s.Grades[i].Limits {
			limits[class] = make(map[grading.ParameterID]grading.Bound, len(bounds))
			maps.Copy(limits[class], bounds)
		}
		s.Grades[i].Limits = limits
	}
	return &s
}

// identity reads who issued the standard, where it was read and how far it can be
// trusted. A file laid over a parent inherits all but id, title, source and status.
func (f *file) identity(t *table, s *grading.Standard) {
	s.ID = t.needText("id", "a short id such as \"agmark-paddy\"")
	if s.ID != "" && !idForm.MatchString(s.ID) {
		f.fault(f.at("id"), "id", strconv.Quote(s.ID), "lower-case letters, digits and single hyphens")
	}
	s.Title = t.needText("title", "the standard's name")
	s.Source = t.needText("source", "where the numbers were read: an address or a book")
	s.SourceTag = t.needText("source_tag", "the tag of the source, such as \"AGMARK-PADDY\"")
	if s.SourceTag != "" && !tagForm.MatchString(s.SourceTag) {
		f.fault(f.at("source_tag"), "source_tag", strconv.Quote(s.SourceTag), "capitals, digits and hyphens")
	}
	parent := s.Status
	if status := t.choice("status", statuses); status != "" {
		s.Status = grading.Status(status)
		if s.Parent != "" && slices.Index(statuses, status) < slices.Index(statuses, string(parent)) {
			s.Status = parent // its parent is no better known than before
		}
	} else if !t.has("status") {
		t.missing("status", oneOf(statuses))
	}
	s.Note = t.text("note")
	f.replace(t, "edition", "the edition or the year", &s.Edition)
	f.replace(t, "issuer", "who issued the standard", &s.Issuer)
	f.replace(t, "country", "a country's two letters, or \"none\"", &s.Country)
	f.date(t, "valid_from", &s.ValidFrom)
	f.date(t, "valid_to", &s.ValidTo)
	if s.ValidFrom != "" && s.ValidTo != "" && s.ValidTo < s.ValidFrom {
		f.fault(f.at("valid_to"), "valid_to", s.ValidTo, "a date not before valid_from")
	}
	f.combination(t, s)
}

func (f *file) replace(t *table, key, want string, to *string) {
	if v := t.text(key); v != "" {
		*to = v
	}
	if *to == "" && !t.has(key) {
		t.missing(key, want)
	}
}

// date accepts a TOML date or the same as a text.
func (f *file) date(t *table, key string, to *string) {
	t.asked = append(t.asked, key)
	n := t.node.get(key)
	if n == nil {
		return
	}
	f.lines[t.key(key)] = n.line
	if _, err := time.Parse(time.DateOnly, n.text); err != nil || n.kind != dateNode && n.kind != textNode {
		t.wrong(n, key, "a date such as 2025-11-12")
		return
	}
	*to = n.text
}

// combination reads classes, the rule and how values are compared.
func (f *file) combination(t *table, s *grading.Standard) {
	if classes := t.names("classes"); classes != nil {
		s.Classes, s.DefaultClass = classes, ""
	}
	if c := t.choice("default_class", s.Classes); c != "" {
		s.DefaultClass = c
	}
	if out := t.text("out_of_grade"); out != "" {
		s.OutOfGrade = grading.GradeLabel(out)
	}
	if s.OutOfGrade == "" {
		t.missing("out_of_grade", "the standard's own word for a lot below the last grade")
	}
	if rule := t.choice("rule", rules); rule != "" {
		s.Rule = grading.Rule(rule)
	}
	if lead := t.text("lead"); lead != "" {
		s.Lead = grading.ParameterID(lead)
	}
	if t.has("round_first") {
		s.RoundFirst, s.MeterStep = t.flag("round_first"), 0
	}
	t.asked = append(t.asked, "round_first")
}
