package standard_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"threshline/grading"
	"threshline/grading/standard"
)

// Whatever the file: either faults that say where, or a standard that grades.
func FuzzLoad(f *testing.F) {
	shipped, err := filepath.Glob("*.toml")
	if err != nil || len(shipped) == 0 {
		f.Fatalf("no shipped file found: %v", err)
	}
	for _, path := range shipped {
		b, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte(goodFile(f)))
	f.Add([]byte("grade = 1\nparameter = [1]\ngate = [[]]\nmatrix = {}\n"))
	f.Add([]byte("grade = [{ label = \"\", max = {}, class = { a = {} } }]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := standard.Load("fuzz.toml", data, standard.ByID)
		if err != nil {
			var faults standard.Faults
			if !errors.As(err, &faults) || len(faults) == 0 {
				t.Fatalf("the error is %T", err)
			}
			for _, fault := range faults {
				if fault.Line < 1 || fault.Want == "" {
					t.Fatalf("a fault that says too little: %+v", fault)
				}
			}
			return
		}
		r := grading.Readings{}
		for i, field := range grading.Fields() {
			r.Set(field, grading.NewDecimal(100-3*i))
		}
		for _, class := range append(s.Classes, "") {
			r.Class = class
			res, err := grading.Grade(s, r)
			if err == nil && (res.Grade == "" || res.Rank < 1) {
				t.Fatalf("graded as %q, rank %d", res.Grade, res.Rank)
			}
			grading.Adjustments(s, &res)
			s.DefectOrder(class)
		}
	})
}
