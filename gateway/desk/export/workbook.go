package export

import (
	"archive/zip"
	"bytes"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"
)

// skeleton is a workbook with so many sheets of checks, each with a heading and no
// checks, and with the style for times.
func (s *sheet) skeleton(sheets int) (book *zip.Reader, stamp int, err error) {
	file := excelize.NewFile()
	defer file.Close()
	format := "yyyy-mm-dd hh:mm"
	if stamp, err = file.NewStyle(&excelize.Style{CustomNumFmt: &format}); err != nil {
		return nil, 0, err
	}
	head, err := file.NewStyle(&excelize.Style{
		Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
	})
	if err != nil {
		return nil, 0, err
	}
	if err := file.SetSheetName("Sheet1", checksSheet); err != nil {
		return nil, 0, err
	}
	for n := range sheets {
		name := checksSheet
		if n > 0 {
			name += " " + strconv.Itoa(n+1)
			if _, err := file.NewSheet(name); err != nil {
				return nil, 0, err
			}
		}
		if err := heading(file, name, s.columns, head); err != nil {
			return nil, 0, err
		}
	}
	if err := s.describe(file); err != nil {
		return nil, 0, err
	}
	buf, err := file.WriteToBuffer()
	if err != nil {
		return nil, 0, err
	}
	book, err = zip.NewReader(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
	return book, stamp, err
}

// heading names the columns of a sheet of checks and keeps them visible.
func heading(file *excelize.File, name string, columns []Column, style int) error {
	w, err := file.NewStreamWriter(name)
	if err != nil {
		return err
	}
	if err := w.SetColWidth(1, len(columns), 14); err != nil {
		return err
	}
	if err := w.SetPanes(&excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}); err != nil {
		return err
	}
	var head []any
	for _, f := range columns {
		label := f.name
		if f.unit != "" && f.unit != "time" {
			label += ", " + f.unit
		}
		head = append(head, excelize.Cell{StyleID: style, Value: label})
	}
	if err := w.SetRow("A1", head); err != nil {
		return err
	}
	return w.Flush()
}

// describe writes the sheet of sources and definitions.
func (s *sheet) describe(file *excelize.File) error {
	if _, err := file.NewSheet(aboutSheet); err != nil {
		return err
	}
	rows := [][]any{
		{"Programme", s.about.Programme}, {"Checks", s.about.Filter},
		{"Exported", s.about.ExportedAt.Format(time.RFC3339)}, {"Time zone of the sheet", s.about.ExportedAt.Location().String()},
		{"Standard in force", s.about.Standard}, {"Edition", s.about.Edition}, {"Source", s.about.Source}, {"Status", s.about.Status},
		{"Holds names and numbers", s.about.Identified}, {"Note", s.about.Note}, {}, {"Column", "Unit", "What it is"},
	}
	for _, f := range s.columns {
		rows = append(rows, []any{f.name, f.unit, f.means})
	}
	about, err := file.NewStreamWriter(aboutSheet)
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
	return about.Flush()
}
