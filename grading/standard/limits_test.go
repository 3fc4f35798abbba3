package standard_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// row is one line of testdata/grading/<id>.csv: what is measured, and the
// grade that follows by the source. The first row of a file is a lot at its
// best; every other row changes what it names.
type row struct {
	source, class, set, grade, deciding, remarks string
	line                                         int
}

func readRows(t *testing.T, id string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "grading", id+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	r.FieldsPerRecord = 6
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(records) < 3 {
		t.Fatalf("%s.csv holds no rows", id)
	}
	var rows []row
	for i, c := range records[1:] {
		if !strings.HasPrefix(c[0], "[") {
			t.Errorf("%s.csv row %d has no source", id, i+2)
		}
		rows = append(rows, row{source: c[0], class: c[1], set: c[2], grade: c[3], deciding: c[4], remarks: c[5], line: i + 2})
	}
	return rows
}

// apply sets readings, direct values, words and flags from "a=1;b=2".
func apply(t *testing.T, s *grading.Standard, r *grading.Readings, set string) {
	t.Helper()
	for pair := range strings.SplitSeq(set, ";") {
		key, value, _ := strings.Cut(pair, "=")
		p := s.Parameter(grading.ParameterID(key))
		f, isField := grading.ParseField(key)
		switch {
		case key == "flags":
			r.Flags = append(r.Flags, grading.Flag(value))
		case p != nil && p.Unit == grading.Word:
			r.Words[p.ID] = value
		case p != nil:
			r.Values[p.ID] = decimal(t, value)
		case isField:
			r.Set(f, decimal(t, value))
		default:
			t.Fatalf("%s has neither a parameter nor a field %q", s.ID, key)
		}
	}
}

func decimal(t testing.TB, s string) grading.Decimal {
	t.Helper()
	d, err := grading.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func readingsOf(t *testing.T, s *grading.Standard, base, r row) grading.Readings {
	t.Helper()
	out := grading.Readings{
		Values: map[grading.ParameterID]grading.Decimal{},
		Words:  map[grading.ParameterID]string{},
		Class:  r.class,
	}
	apply(t, s, &out, base.set)
	apply(t, s, &out, r.set)
	return out
}

// Every limit of every table, at, just under and just over, from rows written
// out from the sources that they name.
func TestEveryLimitOfEveryTable(t *testing.T) {
	for _, id := range standard.IDs() {
		t.Run(id, func(t *testing.T) {
			s, err := standard.ByID(id)
			if err != nil {
				t.Fatal(err)
			}
			rows := readRows(t, id)
			for _, r := range rows {
				checkRow(t, s, rows[0], r)
			}
			checkCovered(t, s, rows)
		})
	}
}

func checkRow(t *testing.T, s *grading.Standard, base, r row) {
	t.Helper()
	res, err := grading.Grade(s, readingsOf(t, s, base, r))
	if err != nil {
		t.Errorf("row %d, %s: %v", r.line, r.set, err)
		return
	}
	if string(res.Grade) != r.grade || !res.Complete {
		t.Errorf("row %d %s, %s: got %q (complete %v, missing %v), want %q", r.line, r.source, r.set, res.Grade, res.Complete, res.Missing, r.grade)
	}
	if r.deciding != "*" && !sameIDs(res.Deciding, strings.Fields(r.deciding)) {
		t.Errorf("row %d, %s: deciding %q, want %q", r.line, r.set, res.Deciding, r.deciding)
	}
	if want := strings.Fields(r.remarks); !slices.Equal(res.Remarks, want) && len(res.Remarks)+len(want) > 0 {
		t.Errorf("row %d, %s: remarks %q, want %q", r.line, r.set, res.Remarks, want)
	}
	if s.Label(res.Rank) != res.Grade || s.Rank(res.Grade) != res.Rank {
		t.Errorf("row %d: rank %d and grade %q disagree", r.line, res.Rank, res.Grade)
	}
}

func sameIDs(got []grading.ParameterID, want []string) bool {
	names := make([]string, len(got))
	for i, id := range got {
		names[i] = string(id)
	}
	slices.Sort(names)
	slices.Sort(want)
	return slices.Equal(names, want)
}

// checkCovered fails when a limit of the table has no row at it, or none just
// under or over it.
func checkCovered(t *testing.T, s *grading.Standard, rows []row) {
	t.Helper()
	classes := s.Classes
	if len(classes) == 0 {
		classes = []string{""}
	}
	for _, class := range classes {
		for i := range s.Parameters {
			for _, limit := range limitsOf(s, class, s.Parameters[i].ID) {
				own := class
				if slices.Contains(limitsOf(s, "", s.Parameters[i].ID), limit) {
					own = "" // common to all classes: a row of any of them will do
				}
				checkLimitCovered(t, &s.Parameters[i], own, limit, rows)
			}
		}
	}
}

// limitsOf is every number that the standard limits a parameter by.
func limitsOf(s *grading.Standard, class string, id grading.ParameterID) (out []grading.Decimal) {
	add := func(b grading.Bound) {
		for _, d := range []*grading.Decimal{b.Min, b.Max} {
			if d != nil && !slices.Contains(out, *d) {
				out = append(out, *d)
			}
		}
	}
	for rank := range s.Grades {
		if b, ok := s.Limit(class, rank+1, id); ok {
			add(b)
		}
	}
	for _, g := range s.Gates {
		if g.Parameter == id {
			add(g.Bound)
		}
	}
	return out
}

func checkLimitCovered(t *testing.T, p *grading.Parameter, class string, limit grading.Decimal, rows []row) {
	t.Helper()
	step := grading.One / 10
	if !p.Unit.Percentage() {
		step = grading.One
	}
	var under, at, over bool
	for _, r := range rows {
		for pair := range strings.SplitSeq(r.set, ";") {
			key, value, _ := strings.Cut(pair, "=")
			if key != string(p.ID) || class != "" && r.class != class {
				continue
			}
			d := decimal(t, value)
			at = at || d == limit
			under = under || d < limit && d >= limit-step
			over = over || d > limit && d <= limit+step
		}
	}
	if edge := limit == 0 || limit == 100*grading.One; !at || !under && !edge || !over && !edge {
		t.Errorf("%s %s: limit %s has no row at, under or over it (%v, %v, %v)", p.ID, class, limit, under, at, over)
	}
}

// A CSV whose standard is gone tests nothing and would go unnoticed.
func TestNoRowsWithoutAStandard(t *testing.T) {
	found, err := filepath.Glob(filepath.Join("..", "..", "testdata", "grading", "*.csv"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no rows found: %v", err)
	}
	for _, path := range found {
		if id := strings.TrimSuffix(filepath.Base(path), ".csv"); !slices.Contains(standard.IDs(), id) {
			t.Errorf("%s has no standard", path)
		}
	}
}
