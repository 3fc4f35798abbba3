package desk

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
)

// page is what every template is given.
type page struct {
	Title, Programme string
	Visitor          *visitorView // nil when nobody is signed in
	Sections         []section
	Style            string // where the style sheet is
	Printed          string // when the page was made
	Reading          string // how far the store was read after a start; "" all is
	Body             any
}

// visitorView is the visitor as the head of the page shows them.
type visitorView struct {
	Name      string
	Role      session.DeskRole
	Districts []string
}

// section is one entry of the contents.
type section struct {
	Path, Label string
	Here        bool
}

// contents lists the pages in the order of the work, with the role that each
// needs.
var contents = []struct {
	path, label string
	role        session.DeskRole
}{
	{home, "Season", session.DeskViewer},
	{"/desk/grades", "Grades", session.DeskViewer},
	{"/desk/limits", "What holds grade down", session.DeskViewer},
	{"/desk/what-if", "What if", session.DeskViewer},
	{"/desk/districts", "Districts and agents", session.DeskViewer},
	{"/desk/lots", "Lots", session.DeskViewer},
	{"/desk/hands", "Checks by hand", session.DeskViewer},
	{"/desk/growers", "Growers", session.DeskViewer},
	{"/desk/meters", "Meters", session.DeskViewer},
	{"/desk/findings", "Findings", session.DeskViewer},
	{"/desk/messages", "Messages", session.DeskViewer},
	{"/desk/export", "Export", session.DeskViewer},
	{"/desk/handset", "Practice handset", session.DeskViewer},
	{"/desk/settings", "Settings and standard", session.DeskViewer},
	{"/desk/people", "People and tokens", session.DeskAdministrator},
	{"/desk/audit", "Audit log", session.DeskAdministrator},
}

// overChecks are the pages over the ledger. The filter stays when a visitor
// moves from one to another.
var overChecks = []string{home, "/desk/grades", "/desk/limits", "/desk/what-if", "/desk/districts", "/desk/lots", "/desk/hands", "/desk/findings", "/desk/export"}

// aside are pages over the ledger that the contents do not list.
var aside = []string{"/desk/report", "/desk/visits"}

// filtered is a page's address with the filter of the page that is shown.
func filtered(path string, r *http.Request) string {
	if !slices.Contains(overChecks, path) || !slices.Contains(overChecks, r.URL.Path) && !slices.Contains(aside, r.URL.Path) {
		return path
	}
	asked, q := r.URL.Query(), url.Values{}
	for _, key := range filterKeys {
		if value := asked.Get(key); value != "" {
			q.Set(key, value)
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// front is what every desk answers with: pages and refusals.
type front struct {
	name     string // of the programme
	zone     *time.Location
	guard    *access.Guard
	pages    paper.Pages
	now      func() time.Time
	log      zerolog.Logger
	progress func() (checks int, part float64, ok bool)
	practice bool // there is a handset
}

// show answers a visitor with a page.
func (d *front) show(w http.ResponseWriter, r *http.Request, v *access.Visitor, name, title string, body any) error {
	d.Show(w, r, http.StatusOK, v, name, title, body)
	return nil
}

// day is the day of a moment where the programme is.
func (d *front) day(t time.Time) string { return t.In(d.zone).Format("2 Jan 2006") }

// Show answers with a page. Nothing is sent before the whole page is made.
func (d *front) Show(w http.ResponseWriter, r *http.Request, status int, v *access.Visitor, name, title string, body any) {
	p := page{
		Title: title, Programme: d.name, Style: paper.Style.Path, Body: body,
		Printed: d.now().In(d.zone).Format("2 January 2006, 15:04"),
	}
	if v != nil {
		p.Reading = d.reading()
		if _, over := body.(interface{ overLedger() }); over && p.Reading != "" {
			comeBack(w)
		}
		p.Visitor = &visitorView{v.Account.Name, v.Account.Role, v.Account.Districts}
		for _, c := range contents {
			if v.May(c.role) && !d.guard.LacksFactor(v) && (c.path != "/desk/handset" || d.practice) {
				here := r.URL.Path == c.path || c.path != home && strings.HasPrefix(r.URL.Path, c.path+"/")
				p.Sections = append(p.Sections, section{filtered(c.path, r), c.label, here})
			}
		}
	}
	var b bytes.Buffer
	if err := d.pages.Write(&b, name, &p); err != nil {
		d.log.Error().Err(err).Str("page", name).Msg("desk: a page could not be made")
		http.Error(w, "This page could not be made. The fault is in the log.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		_, _ = w.Write(b.Bytes())
	}
}

// reading says how far the store was read into the ledger after a start; "" when
// all is.
func (d *front) reading() string {
	if d.progress == nil {
		return ""
	}
	checks, part, ok := d.progress()
	if !ok {
		return ""
	}
	return "The gateway has just been started and is still reading its store: " + paper.Plural(checks, "check") + " so far, " + paper.Percent(part) +
		". Until that is done, figures and lists hold no others."
}

// Refuse answers with a sentence that says why nothing was done.
func (d *front) Refuse(w http.ResponseWriter, r *http.Request, status int, why string) {
	if strings.HasPrefix(r.URL.Path, adminPath) {
		answerError(w, status, why)
		return
	}
	d.Show(w, r, status, nil, "refused", http.StatusText(status), why)
}

// Fail answers a fault. Its details go only to the log.
func (d *front) Fail(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, context.Canceled) {
		return // nobody is there to read an answer
	}
	status, text := paper.Fault(err)
	if status >= http.StatusInternalServerError {
		d.log.Error().Err(err).Str("path", access.Address(r)).Msg("desk")
	}
	d.Refuse(w, r, status, text)
}

// lookAgain is after how many seconds a page that is not complete yet reloads itself.
const lookAgain = "5"

func comeBack(w http.ResponseWriter) { w.Header().Set("Refresh", lookAgain) }

// address is the desk's own address as the visitor reached it.
func (d *front) address(r *http.Request) string {
	if d.guard.ByTLS(r) {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

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
