package main

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"threshline/cmd/threshline/demo"
	"threshline/gateway/desk/export"
	"threshline/grading"
)

// What an export gives as graded is what the lot was graded by: every lot of the
// invented season is graded again from its row and gets the grade that was filed.
func TestExportedValuesGradeAsFiled(t *testing.T) {
	cfg, err := valleyConfig()
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := cfg.Build()
	if err != nil {
		t.Fatal(err)
	}
	begin := time.Date(2026, 9, 16, 12, 0, 0, 0, time.UTC)
	checks, err := demo.Invent(p, demo.People(begin), begin)
	if err != nil || len(checks) < 400 {
		t.Fatalf("%d checks, %v", len(checks), err)
	}
	var b bytes.Buffer
	e, err := export.Begin(&b, "csv", export.About{}, export.Columns(false, p.Standard.Parameters))
	if err != nil {
		t.Fatal(err)
	}
	for i := range checks {
		if err := e.Put(&export.Row{Check: checks[i], Zone: time.UTC}); err != nil {
			t.Fatal(err)
		}
	}
	if err := e.End(); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != len(checks)+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		cell := map[string]string{}
		for i, name := range rows[0] {
			cell[name] = row[i]
		}
		r := grading.Readings{Values: map[grading.ParameterID]grading.Decimal{}}
		for name, text := range cell {
			if text == "" {
				continue
			}
			id, graded := strings.CutPrefix(name, "value_")
			f, counted := grading.ParseField(name)
			if counted = counted && (f == grading.LiveWeevils || f == grading.LiveOthers); !graded && !counted {
				continue
			}
			d, err := grading.ParseDecimal(text)
			if err != nil {
				t.Fatalf("%s: %s %q: %v", cell["slip"], name, text, err)
			}
			if graded {
				r.Values[grading.ParameterID(id)] = d
			} else {
				r.Set(f, d)
			}
		}
		for _, flag := range strings.Fields(cell["seen"]) {
			r.Flags = append(r.Flags, grading.Flag(flag))
		}
		res, err := grading.Grade(p.Standard, r)
		if err != nil {
			t.Fatalf("%s: %v", cell["slip"], err)
		}
		if string(res.Grade) != cell["grade"] {
			t.Errorf("%s: filed as %s, by its exported values %v %s", cell["slip"], cell["grade"], r.Values, res.Grade)
		}
	}
}
