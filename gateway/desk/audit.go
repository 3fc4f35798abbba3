package desk

import (
	"net/http"
	"strconv"
)

// auditPage is who did what to personal data, settings and accounts.
type auditPage struct {
	Notes table
	Older string
}

// notesPerPage is how many notes a page of the audit log shows.
const notesPerPage = 100

func (d *Desk) audit(w http.ResponseWriter, r *http.Request, v *visitor) error {
	before, err := strconv.ParseUint(saidOf(r.URL.Query().Get("before"), "0"), 10, 64)
	if err != nil {
		return &inputError{"The place in the log cannot be read."}
	}
	notes, next, err := d.cfg.Shelf.Notes(r.Context(), before, notesPerPage)
	if err != nil {
		return err
	}
	page := auditPage{Notes: table{Caption: "The newest first. An entry is never changed or removed.", Head: heads("When", "Who", "Did", "To what")}}
	for _, n := range notes {
		page.Notes.Rows = append(page.Notes.Rows, cells(n.At.In(d.cfg.Programme.Zone).Format(dateTime+":05"), n.Who, n.Did, n.Subject))
	}
	if next != 0 {
		page.Older = "/desk/audit?before=" + strconv.FormatUint(next, 10)
	}
	d.show(w, r, http.StatusOK, v, "audit", "Audit log", page)
	return nil
}
