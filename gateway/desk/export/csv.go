package export

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"threshline/grading"
)

// csvWriter writes [RFC-4180]: a heading, commas, CR LF. What the export says about
// itself is in columns of every row, because the format has no place for remarks.
type csvWriter struct {
	w    *csv.Writer
	said []string // at the end of every row
	line []string
}

func newCSV(w io.Writer) writer {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	return &csvWriter{w: c}
}

func (c *csvWriter) begin(a About, columns []Column) error {
	c.said = []string{csvText(a.ExportedAt), harmless(a.Filter)}
	var head []string
	for _, f := range columns {
		head = append(head, f.name)
	}
	return c.w.Write(append(head, "exported_at", "filter"))
}

func (c *csvWriter) row(values []any) error {
	c.line = c.line[:0]
	for _, v := range values {
		c.line = append(c.line, csvText(v))
	}
	c.line = append(c.line, c.said...)
	return c.w.Write(c.line)
}

func (c *csvWriter) end() error {
	c.w.Flush()
	return c.w.Error()
}

func csvText(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return harmless(v)
	case time.Time:
		if v.IsZero() {
			return ""
		}
		return v.Format(time.RFC3339)
	case float64:
		return strconv.FormatFloat(v, 'f', 4, 64)
	case grading.Decimal:
		return v.String()
	case int:
		return strconv.Itoa(v)
	case bool:
		return strconv.FormatBool(v)
	}
	return fmt.Sprint(v)
}

// harmless keeps a spreadsheet program from taking a text as a formula: a text that
// begins like one gets an apostrophe in front. Names and villages come from whoever
// writes to us. Source: common practice, no source.
func harmless(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n|%", rune(s[0])) {
		return "'" + s
	}
	return s
}

// lines writes JSON Lines. The first line is what the export says about itself, with
// the meaning of its columns; then one check a line.
type lines struct {
	w       *json.Encoder
	columns []Column
}

func newLines(w io.Writer) writer {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return &lines{w: e}
}

// definition is what a column means.
type definition struct {
	Name  string `json:"name"`
	Unit  string `json:"unit,omitempty"`
	Means string `json:"means"`
}

func definitions(columns []Column) []definition {
	list := make([]definition, len(columns))
	for i, f := range columns {
		list[i] = definition{f.name, f.unit, f.means}
	}
	return list
}

func (l *lines) begin(a About, columns []Column) error {
	l.columns = columns
	return l.w.Encode(map[string]any{"about": a, "columns": definitions(columns)})
}

func (l *lines) row(values []any) error {
	m := make(map[string]any, len(values))
	for i, v := range values {
		switch v := v.(type) {
		case nil: // what is not known is left out
		case grading.Decimal:
			m[l.columns[i].name] = json.Number(v.String())
		case time.Time:
			if !v.IsZero() {
				m[l.columns[i].name] = v.Format(time.RFC3339)
			}
		default:
			m[l.columns[i].name] = v
		}
	}
	return l.w.Encode(m)
}

func (l *lines) end() error { return nil }
