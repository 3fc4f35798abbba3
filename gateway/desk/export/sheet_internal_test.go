package export

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"threshline/session"
)

// TestMoreChecksThanASheetHoldsGoOnInTheNext writes sheets of five rows: the
// format's own limit takes too long.
func TestMoreChecksThanASheetHoldsGoOnInTheNext(t *testing.T) {
	for _, c := range []struct{ checks, sheets int }{{0, 1}, {4, 1}, {5, 2}, {9, 3}} {
		var b bytes.Buffer
		out := newSheet(&b)
		out.(*sheet).most = 5
		columns := Columns(false, nil)
		e := &Export{out, columns, make([]any, len(columns))}
		if err := out.begin(About{Programme: "Mbuyu Valley", ExportedAt: time.Unix(0, 0).UTC()}, columns); err != nil {
			t.Fatal(err)
		}
		for i := range c.checks {
			if err := e.Put(&Row{Check: session.Check{Slip: slipOf(i)}, Zone: time.UTC}); err != nil {
				t.Fatal(err)
			}
		}
		if err := e.End(); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		want := []string{"Checks", "Checks 2", "Checks 3"}[:c.sheets]
		if got := f.GetSheetList(); !slices.Equal(got, append(slices.Clone(want), aboutSheet)) {
			t.Fatalf("%d checks: the sheets are %q", c.checks, got)
		}
		n := 0
		for _, name := range want {
			rows, err := f.GetRows(name)
			if err != nil || len(rows) == 0 || len(rows) > 5 || rows[0][0] != "slip" {
				t.Fatalf("%d checks, sheet %s: %d rows, %v", c.checks, name, len(rows), err)
			}
			for _, row := range rows[1:] {
				if row[0] != string(slipOf(n)) {
					t.Errorf("%d checks, sheet %s: slip %s, want %s", c.checks, name, row[0], slipOf(n))
				}
				n++
			}
		}
		if n != c.checks {
			t.Errorf("%d checks of %d came back", n, c.checks)
		}
		if n := selected(t, b.Bytes()); n > 1 { // who types into several changes all
			t.Errorf("%d checks: %d sheets are selected at once", c.checks, n)
		}
	}
}

func slipOf(i int) session.Slip { return session.Slip(fmt.Sprintf("TC6HCG%d", i)) }

// selected counts the sheets that are selected when a workbook is opened.
func selected(t *testing.T, book []byte) (n int) {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.File {
		if !strings.HasPrefix(f.Name, "xl/worksheets/") {
			continue
		}
		part, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), `tabSelected="1"`) {
			n++
		}
	}
	return n
}
