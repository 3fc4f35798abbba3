package desk

import (
	"net/http"
	"strconv"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
)

type auditDesk struct {
	*front
	shelf Shelf
}

// auditPage lists who changed or read personal data, settings and accounts.
type auditPage struct {
	Notes paper.Table
	Older string
}

// notesPerPage is how many notes a page of the audit log shows.
const notesPerPage = 100

func (d *auditDesk) audit(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	before, err := strconv.ParseUint(paper.Or(r.URL.Query().Get("before"), "0"), 10, 64)
	if err != nil {
		return paper.Wrong("The place in the log cannot be read.")
	}
	notes, next, err := d.shelf.Notes(r.Context(), before, notesPerPage)
	if err != nil {
		return err
	}
	page := auditPage{Notes: paper.Table{Caption: "The newest first. An entry is never changed or removed.", Head: paper.Heads("When", "Who", "Did", "To what")}}
	for _, n := range notes {
		page.Notes.Add(n.At.In(d.zone).Format(paper.DateTime+":05"), n.Who, n.Did, n.Subject)
	}
	if next != 0 {
		page.Older = "/desk/audit?before=" + strconv.FormatUint(next, 10)
	}
	return d.show(w, r, v, "audit", "Audit log", page)
}
