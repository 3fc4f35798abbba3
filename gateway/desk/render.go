package desk

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

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
var overChecks = []string{home, "/desk/grades", "/desk/limits", "/desk/what-if", "/desk/districts", "/desk/lots", "/desk/findings", "/desk/export"}

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

// Show answers with a page. Nothing is sent before the whole page is made.
func (d *Desk) Show(w http.ResponseWriter, r *http.Request, status int, v *access.Visitor, name, title string, body any) {
	p := page{
		Title: title, Programme: d.cfg.Programme.Name, Style: paper.Style.Path, Body: body,
		Printed: d.cfg.Now().In(d.cfg.Programme.Zone).Format("2 January 2006, 15:04"),
	}
	if v != nil {
		p.Reading = d.reading()
		if _, over := body.(interface{ overLedger() }); over && p.Reading != "" {
			comeBack(w)
		}
		p.Visitor = &visitorView{v.Account.Name, v.Account.Role, v.Account.Districts}
		for _, c := range contents {
			if v.May(c.role) && !d.guard.LacksFactor(v) && (c.path != "/desk/handset" || d.cfg.Handset != nil) {
				here := r.URL.Path == c.path || c.path != home && strings.HasPrefix(r.URL.Path, c.path+"/")
				p.Sections = append(p.Sections, section{filtered(c.path, r), c.label, here})
			}
		}
	}
	var b bytes.Buffer
	if err := d.pages.Write(&b, name, &p); err != nil {
		d.cfg.Log.Error().Err(err).Str("page", name).Msg("desk: a page could not be made")
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
func (d *Desk) reading() string {
	if d.cfg.Progress == nil {
		return ""
	}
	checks, part, ok := d.cfg.Progress()
	if !ok {
		return ""
	}
	return "The gateway has just been started and is still reading its store: " + paper.Plural(checks, "check") + " so far, " + paper.Percent(part) +
		". Until that is done, figures and lists hold no others."
}

// Refuse answers with a sentence that says why nothing was done.
func (d *Desk) Refuse(w http.ResponseWriter, r *http.Request, status int, why string) {
	if strings.HasPrefix(r.URL.Path, adminPath) {
		answerError(w, status, why)
		return
	}
	d.Show(w, r, status, nil, "refused", http.StatusText(status), why)
}

// Fail answers a fault. Its details go only to the log.
func (d *Desk) Fail(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, context.Canceled) {
		return // nobody is there to read an answer
	}
	status, text := paper.Fault(err)
	if status >= http.StatusInternalServerError {
		d.cfg.Log.Error().Err(err).Str("path", access.Address(r)).Msg("desk")
	}
	d.Refuse(w, r, status, text)
}
