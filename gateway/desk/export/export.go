// Package export writes filed checks as CSV, a workbook or JSON Lines.
//
// A column is one row of a table, and every format has the same columns.
package export

import (
	"io"
	"time"

	"threshline/session"
)

// About is what every export says about itself.
type About struct {
	Programme  string    `json:"programme"`
	Filter     string    `json:"filter"`
	ExportedAt time.Time `json:"exported_at"`
	Standard   string    `json:"standard_in_force"`
	Edition    string    `json:"edition"`
	Source     string    `json:"source"`
	Status     string    `json:"status"`
	Identified bool      `json:"identified"`
	Note       string    `json:"note"`
}

// Row is a check with the people it concerns. Times are given in the zone.
type Row struct {
	session.Check
	Zone  *time.Location
	Named struct{ Grower, Agent session.Person } // empty where the reader may not know them
}

// writer writes an export in one format. It keeps nothing of a row.
type writer interface {
	begin(About, []Column) error
	row([]any) error
	end() error
}

// formats are the formats by name, with their media type.
var formats = map[string]struct {
	media string
	make  func(io.Writer) writer
}{
	"csv":   {"text/csv; charset=utf-8; header=present", newCSV},
	"jsonl": {"application/jsonl", newLines},
	"xlsx":  {"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", newSheet},
}

// Media is the media type of a format; false where there is no such format.
func Media(format string) (media string, ok bool) {
	f, ok := formats[format]
	return f.media, ok
}

// Export is an export under way.
type Export struct {
	out     writer
	columns []Column
	values  []any // of the row at hand
}

// Begin writes the head of an export in a format that Media knows.
func Begin(w io.Writer, format string, about About, columns []Column) (*Export, error) {
	out := formats[format].make(w)
	return &Export{out, columns, make([]any, len(columns))}, out.begin(about, columns)
}

// Put writes a row.
func (e *Export) Put(r *Row) error {
	for i, c := range e.columns {
		e.values[i] = c.get(r)
	}
	return e.out.row(e.values)
}

// End writes what comes last.
func (e *Export) End() error { return e.out.end() }
