package export_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"threshline/gateway/desk/export"
	"threshline/grading/standard/standardtest"
)

var update = flag.Bool("update", false, "write testdata/export anew; read the difference")

// TestEveryFormatHasTheHeadingThatWasRead holds the columns of an export, with
// unit and meaning, against a file, and each format against the same columns:
// whoever reads exports by column name is told here of one that comes or goes.
func TestEveryFormatHasTheHeadingThatWasRead(t *testing.T) {
	s, err := standardtest.ByID("mbuyu-hand")
	if err != nil {
		t.Fatal(err)
	}
	write := func(format string) *bytes.Buffer {
		var b bytes.Buffer
		e, err := export.Begin(&b, format, export.About{ExportedAt: time.Date(2026, 11, 2, 7, 30, 0, 0, time.UTC)}, export.Columns(true, s.Parameters))
		if err == nil {
			err = e.End()
		}
		if err != nil {
			t.Fatal(err)
		}
		return &b
	}
	var described, names, labels []string
	for _, c := range linesHeading(t, write("jsonl")) {
		described = append(described, strings.TrimSpace(c.Name+" | "+c.Unit+" | "+c.Means))
		names = append(names, c.Name)
		label := c.Name
		if c.Unit != "" && c.Unit != "time" {
			label += ", " + c.Unit
		}
		labels = append(labels, label)
	}
	golden(t, "../../../testdata/export/heading.txt", strings.Join(described, "\n")+"\n")
	if diff := cmp.Diff(append(names, "exported_at", "filter"), csvHeading(t, write("csv"))); diff != "" {
		t.Errorf("heading of the CSV:\n%s", diff)
	}
	if diff := cmp.Diff(labels, sheetHeading(t, write("xlsx"))); diff != "" {
		t.Errorf("heading of the sheet:\n%s", diff)
	}
}

type column struct{ Name, Unit, Means string }

func linesHeading(t *testing.T, r io.Reader) []column {
	t.Helper()
	var head struct{ Columns []column }
	if err := json.NewDecoder(r).Decode(&head); err != nil || len(head.Columns) == 0 {
		t.Fatalf("%d columns, %v", len(head.Columns), err)
	}
	return head.Columns
}

func csvHeading(t *testing.T, r io.Reader) []string {
	t.Helper()
	head, err := csv.NewReader(r).Read()
	if err != nil {
		t.Fatal(err)
	}
	return head
}

func sheetHeading(t *testing.T, r io.Reader) []string {
	t.Helper()
	f, err := excelize.OpenReader(r)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Checks")
	if err != nil || len(rows) == 0 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	return rows[0]
}

func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s changed; if that is right, run the test with -update and read the difference:\n%s", path, diff)
	}
}
