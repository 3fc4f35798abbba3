package paper

// Table is figures in rows, as every chart has them behind it.
type Table struct {
	Caption string
	Head    []Column
	Rows    [][]Cell
}

// Column is a heading with its unit.
type Column struct {
	Label  string
	Number bool
}

// Cell is one field; the first of a row is its heading.
type Cell struct {
	Text string
	Link string
}

// Cells makes a row of texts.
func Cells(texts ...string) []Cell {
	row := make([]Cell, len(texts))
	for i, t := range texts {
		row[i].Text = t
	}
	return row
}

// Linked makes a row whose first cell leads to a page.
func Linked(link string, texts ...string) []Cell {
	row := Cells(texts...)
	row[0].Link = link
	return row
}

// Heads makes headings: those that begin with "#" stand over numbers.
func Heads(labels ...string) []Column {
	head := make([]Column, len(labels))
	for i, l := range labels {
		if l != "" && l[0] == '#' {
			head[i] = Column{l[1:], true}
		} else {
			head[i] = Column{l, false}
		}
	}
	return head
}

// Add adds a row.
func (t *Table) Add(texts ...string) { t.Rows = append(t.Rows, Cells(texts...)) }

// Fact is a term and what is said of it.
type Fact struct{ Term, Text string }

// Facts are a list of terms.
type Facts []Fact

// Add adds a fact.
func (f *Facts) Add(term, text string) { *f = append(*f, Fact{term, text}) }

// Option is one of the values that a form offers.
type Option struct {
	Value, Label string
	Chosen       bool
}
