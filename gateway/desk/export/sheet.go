package export

import (
	"errors"
	"io"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"threshline/grading"
)

// sheet writes a workbook: the checks in typed cells, and a sheet that says
// what the export is, where its standard comes from and what each column means.
// Every text is a text cell, never a formula.
type sheet struct {
	out     io.Writer
	file    *excelize.File
	checks  *excelize.StreamWriter
	about   About
	columns []Column
	next    int // row, from 1
	styles  struct{ head, time, whole int }
}

const (
	checksSheet = "Checks"
	aboutSheet  = "Sources and definitions"
	// mostSheetRows is how many rows a sheet can have; the format's own limit.
	mostSheetRows = excelize.TotalRows
)

var errTooLong = errors.New("desk: more checks than a sheet can hold")

func newSheet(w io.Writer) (writer, error) {
	s := &sheet{out: w, file: excelize.NewFile(), next: 1}
	var err error
	if err = s.file.SetSheetName("Sheet1", checksSheet); err != nil {
		return nil, err
	}
	if s.checks, err = s.file.NewStreamWriter(checksSheet); err != nil {
		return nil, err
	}
	format := "yyyy-mm-dd hh:mm"
	if s.styles.time, err = s.file.NewStyle(&excelize.Style{CustomNumFmt: &format}); err != nil {
		return nil, err
	}
	s.styles.head, err = s.file.NewStyle(&excelize.Style{
		Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
	})
	return s, err
}

func (s *sheet) begin(a About, columns []Column) error {
	s.about, s.columns = a, columns
	if err := s.checks.SetColWidth(1, len(columns), 14); err != nil {
		return err
	}
	if err := s.checks.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}); err != nil {
		return err
	}
	var head []any
	for _, f := range columns {
		label := f.name
		if f.unit != "" && f.unit != "time" {
			label += ", " + f.unit
		}
		head = append(head, excelize.Cell{StyleID: s.styles.head, Value: label})
	}
	return s.put(head)
}

func (s *sheet) put(values []any) error {
	if s.next > mostSheetRows {
		return errTooLong
	}
	err := s.checks.SetRow("A"+strconv.Itoa(s.next), values)
	s.next++
	return err
}

func (s *sheet) row(values []any) error {
	row := make([]any, len(values))
	for i, v := range values {
		row[i] = s.typed(v)
	}
	return s.put(row)
}

// typed is a value as a cell of its own type. A sheet's times have no zone:
// they are the programme's.
func (s *sheet) typed(v any) any {
	switch v := v.(type) {
	case grading.Decimal:
		return v.Float()
	case time.Time:
		if v.IsZero() {
			return nil
		}
		local := time.Date(v.Year(), v.Month(), v.Day(), v.Hour(), v.Minute(), v.Second(), 0, time.UTC)
		return excelize.Cell{StyleID: s.styles.time, Value: local}
	}
	return v
}

func (s *sheet) end() (err error) {
	defer func() { err = errors.Join(err, s.file.Close()) }()
	if err := s.checks.Flush(); err != nil {
		return err
	}
	if _, err := s.file.NewSheet(aboutSheet); err != nil {
		return err
	}
	rows := [][]any{
		{"Programme", s.about.Programme}, {"Checks", s.about.Filter},
		{"Taken away", s.about.TakenAt.Format(time.RFC3339)}, {"Time zone of the sheet", s.about.TakenAt.Location().String()},
		{"Standard in force", s.about.Standard}, {"Edition", s.about.Edition}, {"Source", s.about.Source}, {"Status", s.about.Status},
		{"Holds names and numbers", s.about.Identified}, {"Note", s.about.Note}, {}, {"Column", "Unit", "What it is"},
	}
	for _, f := range s.columns {
		rows = append(rows, []any{f.name, f.unit, f.means})
	}
	about, err := s.file.NewStreamWriter(aboutSheet)
	if err != nil {
		return err
	}
	if err := about.SetColWidth(1, 3, 40); err != nil {
		return err
	}
	for i, row := range rows {
		if err := about.SetRow("A"+strconv.Itoa(i+1), row); err != nil {
			return err
		}
	}
	if err := about.Flush(); err != nil {
		return err
	}
	return s.file.Write(s.out)
}
