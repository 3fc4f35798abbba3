package export

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"threshline/grading"
)

// sheet writes a workbook: the checks in typed cells, and a sheet that says what the
// export is, where its standard comes from and what each column means. Every text is a
// text cell, never a formula. Each row is written as it comes, so that a million of
// them need no memory; what surrounds them comes from a workbook without rows
// (skeleton).
type sheet struct {
	book    *zip.Writer
	about   About
	columns []Column
	letters []string // of the columns
	stamp   int      // the style of times
	// head and foot are around the rows of each sheet.
	head, foot []byte

	out    io.Writer // of the sheet under way
	sheets int       // begun
	next   int       // row, from 1
	most   int       // rows of a sheet
	line   bytes.Buffer
}

const (
	checksSheet = "Checks"
	aboutSheet  = "Sources and definitions"
)

func newSheet(w io.Writer) writer {
	s := &sheet{book: zip.NewWriter(w), most: excelize.TotalRows}
	s.book.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	return s
}

func (s *sheet) begin(a About, columns []Column) error {
	s.about, s.columns = a, columns
	for i := range columns {
		letters, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		s.letters = append(s.letters, letters)
	}
	empty, stamp, err := s.skeleton(1)
	if err != nil {
		return err
	}
	s.stamp = stamp
	if s.head, s.foot, err = aroundRows(empty, part(1)); err != nil {
		return err
	}
	return s.open()
}

// part is where the n-th sheet lies in a workbook, from 1.
func part(n int) string { return fmt.Sprintf("xl/worksheets/sheet%d.xml", n) }

// aroundRows splits a sheet of a workbook where its rows end.
func aroundRows(book *zip.Reader, name string) (head, foot []byte, err error) {
	file, err := book.Open(name)
	if err != nil {
		return nil, nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(file)
	if err != nil {
		return nil, nil, err
	}
	end := bytes.Index(text, []byte("</sheetData>"))
	if end < 0 {
		return nil, nil, fmt.Errorf("desk: %s of a workbook has no rows", name)
	}
	return text[:end], text[end:], nil
}

// open begins the next sheet of checks.
func (s *sheet) open() (err error) {
	if s.sheets > 0 {
		if _, err := s.out.Write(s.foot); err != nil {
			return err
		}
	}
	s.sheets, s.next = s.sheets+1, 2
	if s.out, err = s.book.Create(part(s.sheets)); err != nil {
		return err
	}
	_, err = s.out.Write(s.head)
	return err
}

func (s *sheet) row(values []any) error {
	if s.next > s.most {
		if err := s.open(); err != nil {
			return err
		}
	}
	b, number := &s.line, strconv.Itoa(s.next)
	b.Reset()
	b.WriteString(`<row r="` + number + `">`)
	for i, v := range values {
		s.cell(b, s.letters[i]+number, v)
	}
	b.WriteString(`</row>`)
	s.next++
	_, err := s.out.Write(b.Bytes())
	return err
}

// cell writes a value as a cell of its own type, and nothing for what is not
// known.
func (s *sheet) cell(b *bytes.Buffer, at string, v any) {
	number := func(text string) { b.WriteString(`<c r="` + at + `"><v>` + text + `</v></c>`) }
	switch v := v.(type) {
	case nil:
	case grading.Decimal:
		number(v.String())
	case int:
		number(strconv.Itoa(v))
	case float64:
		number(strconv.FormatFloat(v, 'f', -1, 64))
	case bool:
		b.WriteString(`<c r="` + at + `" t="b"><v>` + map[bool]string{false: "0", true: "1"}[v] + `</v></c>`)
	case time.Time:
		if !v.IsZero() {
			b.WriteString(`<c r="` + at + `" s="` + strconv.Itoa(s.stamp) + `"><v>` + strconv.FormatFloat(serial(v), 'f', -1, 64) + `</v></c>`)
		}
	default:
		b.WriteString(`<c r="` + at + `" t="inlineStr"><is><t xml:space="preserve">`)
		_ = xml.EscapeText(b, []byte(fmt.Sprint(v))) // a buffer takes all
		b.WriteString(`</t></is></c>`)
	}
}

// serial counts the days since 30 December 1899, where a sheet's times begin. They have
// no zone: they are the programme's.
func serial(t time.Time) float64 {
	_, shift := t.Zone()
	zero := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Unix()
	return float64(t.Unix()+int64(shift)-zero) / (24 * 60 * 60)
}

func (s *sheet) end() error {
	if _, err := s.out.Write(s.foot); err != nil {
		return err
	}
	whole, _, err := s.skeleton(s.sheets)
	if err != nil {
		return err
	}
	written := map[string]bool{}
	for n := range s.sheets {
		written[part(n+1)] = true
	}
	for _, f := range whole.File {
		if written[f.Name] {
			continue
		}
		if err := s.book.Copy(f); err != nil {
			return err
		}
	}
	return s.book.Close()
}
