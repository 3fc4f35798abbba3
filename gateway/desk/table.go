package desk

// table is figures in rows, as every chart has them behind it.
type table struct {
	Caption string
	Head    []column
	Rows    [][]cell
}

// column is a heading with its unit.
type column struct {
	Label  string
	Number bool
}

// cell is one field; the first of a row is its heading.
type cell struct {
	Text string
	Link string
}

func cells(texts ...string) []cell {
	row := make([]cell, len(texts))
	for i, t := range texts {
		row[i].Text = t
	}
	return row
}

// heads makes headings: those that begin with "#" stand over numbers.
func heads(labels ...string) []column {
	head := make([]column, len(labels))
	for i, l := range labels {
		if l != "" && l[0] == '#' {
			head[i] = column{l[1:], true}
		} else {
			head[i] = column{l, false}
		}
	}
	return head
}
