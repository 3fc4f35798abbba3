package desk_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"threshline/grading"
	"threshline/session"
)

// formulae are texts that a spreadsheet program would take for formulas.
var formulae = []string{"=HYPERLINK(\"x\")", "+33 1", "-2+3", "@SUM(A1)", "\tx", "|calc"}

// odd files checks whose words are made to harm.
func (h *house) odd() []session.Check {
	h.people()
	var checks []session.Check
	for i, text := range formulae {
		c := h.check(i, "Kisima", reading(140, 30, 2))
		c.Lot.Variety, c.Lot.Village = text, "Weir, \"upper\"\nend"
		checks = append(checks, c)
	}
	h.put(session.Writes{Checks: checks})
	return checks
}

func TestCSVReadsBack(t *testing.T) {
	h := newHouse(t)
	checks := h.odd()
	a := h.administrator().get("/desk/export/file?format=csv&identified=yes&district=Kisima")
	if !strings.Contains(a.Body, "\r\n") || !strings.Contains(a.Header.Get("Content-Disposition"), "checks-2026-11-02.csv") {
		t.Errorf("want lines that end as RFC 4180 says, and a file name: %v", a.Header)
	}
	r := csv.NewReader(strings.NewReader(a.Body))
	rows, err := r.ReadAll() // every row must have as many fields as the first
	if err != nil || len(rows) != len(checks)+1 {
		t.Fatalf("%d rows, %v: want a heading and %d", len(rows), err, len(checks))
	}
	for i, row := range rows[1:] {
		c := checks[len(checks)-1-i] // the last filed first
		get := func(name string) string { return row[indexOf(t, rows[0], name)] }
		for name, want := range map[string]string{
			"slip": string(c.Slip), "district": "Kisima", "grower": "g-kisima", "grower_name": kisimaGrower, "grower_number": "'" + kisimaNumber,
			"filed_at": c.At.Format(time.RFC3339), "kg": "600", "grade": string(c.Grade), "rank": strconv.Itoa(c.Rank), "standard": "mbuyu-hand",
			"edition": c.Edition, "chaff_g": "0.3", "red": "2", "moisture_2": "14", "stones_g": "0", "cracked": "", "village": c.Lot.Village,
			"variety": "'" + c.Lot.Variety, "value_moisture": c.Values["moisture"].String(), "filter": "Checks: district Kisima", "exported_at": "2026-11-02T07:30:00Z",
		} {
			if got := get(name); got != want {
				t.Errorf("row %d: %s is %q, want %q", i, name, got, want)
			}
		}
	}
}

func indexOf(t *testing.T, head []string, name string) int {
	t.Helper()
	for i, h := range head {
		if h == name || strings.HasPrefix(h, name+", ") {
			return i
		}
	}
	t.Fatalf("there is no column %q in %q", name, head)
	return 0
}

func TestSheetReadsBackWithTypes(t *testing.T) {
	h := newHouse(t)
	checks := h.odd()
	a := h.administrator().get("/desk/export/file?format=xlsx&identified=yes")
	f, err := excelize.OpenReader(strings.NewReader(a.Body))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Checks", excelize.Options{RawCellValue: true})
	if err != nil || len(rows) != len(checks)+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	at := func(name string, row int) string {
		cell, err := excelize.CoordinatesToCellName(indexOf(t, rows[0], name)+1, row)
		if err != nil {
			t.Fatal(err)
		}
		return cell
	}
	for i, c := range checks {
		row := len(checks) - i + 1
		variety := at("variety", row)
		if got, _ := f.GetCellValue("Checks", variety); got != c.Lot.Variety {
			t.Errorf("variety is %q, want %q", got, c.Lot.Variety)
		}
		if formula, _ := f.GetCellFormula("Checks", variety); formula != "" {
			t.Errorf("%q became the formula %q", c.Lot.Variety, formula)
		}
		for name, want := range map[string]excelize.CellType{
			"variety": excelize.CellTypeInlineString, "kg": excelize.CellTypeUnset, "rank": excelize.CellTypeUnset, "complete": excelize.CellTypeBool,
			"filed_at": excelize.CellTypeUnset, "value_moisture": excelize.CellTypeUnset,
		} {
			if got, _ := f.GetCellType("Checks", at(name, row)); got != want {
				t.Errorf("%s is a cell of type %v, want %v", name, got, want)
			}
		}
		if got, _ := f.GetCellValue("Checks", at("filed_at", row)); got != c.At.Format("2006-01-02 15:04") {
			t.Errorf("filed_at shows %q", got)
		}
		if got, _ := f.GetCellValue("Checks", at("chaff_g", row), excelize.Options{RawCellValue: true}); got != "0.3" {
			t.Errorf("chaff_g is %q", got)
		}
	}
	about, err := f.GetRows("Sources and definitions")
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, row := range about {
		text += strings.Join(row, "|") + "\n"
	}
	for _, want := range []string{"Checks|All checks", "Edition|" + h.programme.Standard.Edition, "Source|" + h.programme.Standard.Source, "Holds names and numbers|TRUE",
		"chaff_g|g|Chaff, straw, weed seed, g", "kg|kg|weight of the lot", "Exported|2026-11-02T07:30:00Z"} {
		if !strings.Contains(text, want) {
			t.Errorf("the sheet of sources lacks %q:\n%s", want, text)
		}
	}
}

func TestLinesReadBack(t *testing.T) {
	h := newHouse(t)
	checks := h.season(700) // several batches
	a := h.administrator().get("/desk/export/file?format=jsonl&district=Kisima&from=2026-11-05&to=2026-11-20")
	in := json.NewDecoder(strings.NewReader(a.Body))
	in.UseNumber()
	var head struct {
		About   map[string]any
		Columns []map[string]string
	}
	if err := in.Decode(&head); err != nil {
		t.Fatal(err)
	}
	if head.About["filter"] != "Checks: from 5 Nov 2026, to 20 Nov 2026, district Kisima" || head.About["edition"] != h.programme.Standard.Edition || head.About["identified"] != false {
		t.Errorf("it says of itself %v", head.About)
	}
	want := map[string]session.Check{}
	for _, c := range checks {
		day := c.At.Format(time.DateOnly)
		if c.Lot.District == "Kisima" && day >= "2026-11-05" && day <= "2026-11-20" {
			want[string(c.Slip)] = c
		}
	}
	got := 0
	for in.More() {
		var row map[string]any
		if err := in.Decode(&row); err != nil {
			t.Fatal(err)
		}
		c, ok := want[row["slip"].(string)]
		if !ok {
			t.Fatalf("%v was not asked for, or came twice", row["slip"])
		}
		delete(want, string(c.Slip))
		got++
		chaff, _ := c.Readings.Get(grading.Chaff)
		if row["chaff_g"] != json.Number(chaff.String()) || row["grade"] != string(c.Grade) || row["borderline"] != c.Borderline {
			t.Errorf("row %v, want %+v", row, c)
		}
		if _, there := row["cracked"]; there {
			t.Error("what was not measured is there")
		}
	}
	if got == 0 || len(want) != 0 {
		t.Errorf("%d rows, %d are missing", got, len(want))
	}
}

func TestAnExportSaysWhatItCannotDo(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	for path, want := range map[string]string{
		"/desk/export/file?format=pdf":                   "csv, jsonl or xlsx",
		"/desk/export/file?format=csv&from=yesterday":    "cannot be read",
		"/desk/grades?to=2026-13-01":                     "cannot be read",
		"/desk/lots?village=" + strings.Repeat("x", 200): "longer than any",
	} {
		if a := admin.get(path); a.Status != 400 || !strings.Contains(a.Body, want) {
			t.Errorf("%s: status %d, want 400 and %q", path, a.Status, want)
		}
	}
}

func TestAnEmptyExportIsStillAFile(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	rows, err := csv.NewReader(strings.NewReader(admin.get("/desk/export/file?format=csv").Body)).ReadAll()
	if err != nil || len(rows) != 1 {
		t.Errorf("csv: %d rows, %v", len(rows), err)
	}
	if _, err := excelize.OpenReader(bytes.NewReader([]byte(admin.get("/desk/export/file?format=xlsx").Body))); err != nil {
		t.Errorf("xlsx: %v", err)
	}
}
