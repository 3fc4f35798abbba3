package desk

import (
	"net/http"

	"threshline/gateway/desk/paper"
)

// A list on a page is short, so that no page grows with the programme. For
// printing, "rows=all" shows every row. A page that shows fewer says how many
// there are.

// mostPrinted is how many rows a page has at most: some 200 sheets.
const mostPrinted = 2000

// rowsOf is how many rows of a list a request asks for, where few are usual.
func rowsOf(r *http.Request, few int) int {
	if r.URL.Query().Get("rows") == "all" {
		return mostPrinted
	}
	return few
}

// rest says that a list has more rows than the page shows.
type rest struct {
	Said string
	All  string // the page with every row; "" there is none
}

// restOf is the rest of a list of which so many rows are shown.
func restOf(c *chosen, path, what string, shown, of int) (r rest) {
	switch {
	case shown >= of:
		return r
	case of > mostPrinted:
		r.Said = "These are " + paper.Count(shown) + " of " + paper.Plural(of, what) + ", more than a page can show: narrow the choice above, or export them."
	default:
		r.Said = "These are " + paper.Count(shown) + " of " + paper.Plural(of, what) + "."
		r.All = c.with(path, "rows", "all")
	}
	return r
}
