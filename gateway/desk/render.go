package desk

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"io/fs"
	"net/http"
	"strings"

	"threshline/session"
)

//go:embed page
var files embed.FS

// page is what every template is given.
type page struct {
	Title, Programme string
	Visitor          *visitorView // nil when nobody is signed in
	Sections         []section
	Style            string // where the style sheet is
	Printed          string // when the page was made
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
	{"/desk/flags", "Reports to look at again", session.DeskViewer},
	{"/desk/messages", "Messages", session.DeskViewer},
	{"/desk/take-away", "Take away", session.DeskViewer},
	{"/desk/handset", "Practice handset", session.DeskViewer},
	{"/desk/settings", "Settings and standard", session.DeskViewer},
	{"/desk/people", "People and tokens", session.DeskAdministrator},
	{"/desk/audit", "Audit log", session.DeskAdministrator},
}

// parse reads all templates: each page is the frame with its own parts.
func (d *Desk) parse() (map[string]*template.Template, error) {
	frame, err := template.New("frame").Funcs(words(d.cfg.Programme.Zone)).ParseFS(files, "page/frame.html", "page/parts.html")
	if err != nil {
		return nil, err
	}
	names, err := fs.Glob(files, "page/*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]*template.Template{}
	for _, name := range names {
		key := strings.TrimSuffix(strings.TrimPrefix(name, "page/"), ".html")
		if key == "frame" || key == "parts" {
			continue
		}
		t, err := frame.Clone()
		if err == nil {
			t, err = t.ParseFS(files, name)
		}
		if err != nil {
			return nil, err
		}
		pages[key] = t
	}
	return pages, nil
}

// show answers with a page. Nothing is sent before the whole page is made.
func (d *Desk) show(w http.ResponseWriter, r *http.Request, status int, v *visitor, name, title string, body any) {
	p := page{
		Title: title, Programme: d.cfg.Programme.Name, Style: stylePath, Body: body,
		Printed: d.cfg.Now().In(d.cfg.Programme.Zone).Format("2 January 2006, 15:04"),
	}
	if v != nil {
		p.Visitor = &visitorView{v.account.Name, v.account.Role, v.account.Districts}
		for _, c := range contents {
			if v.may(c.role) && (c.path != "/desk/handset" || d.cfg.Handset != nil) {
				here := r.URL.Path == c.path || c.path != home && strings.HasPrefix(r.URL.Path, c.path+"/")
				p.Sections = append(p.Sections, section{c.path, c.label, here})
			}
		}
	}
	var b bytes.Buffer
	if err := d.pages[name].ExecuteTemplate(&b, "frame", &p); err != nil {
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

// refuse answers with a sentence why nothing was done.
func (d *Desk) refuse(w http.ResponseWriter, r *http.Request, status int, why string) {
	if strings.HasPrefix(r.URL.Path, adminPath) {
		answerError(w, status, why)
		return
	}
	d.show(w, r, status, nil, "refused", http.StatusText(status), why)
}

// asset is a file that pages load, by the digest of what it holds: a browser
// keeps it until it changes.
type asset struct {
	data []byte
	kind string
	path string
}

func newAsset(name, kind string) asset {
	data, err := files.ReadFile("page/" + name)
	if err != nil {
		data = nil // a test finds an asset that is not there
	}
	sum := sha256.Sum256(data)
	return asset{data, kind, "/desk/asset/" + hex.EncodeToString(sum[:6]) + "-" + name}
}

// The constant files of the desk.
var (
	styleAsset = newAsset("desk.css", "text/css; charset=utf-8")
	iconAsset  = newAsset("icon.svg", "image/svg+xml")
	stylePath  = styleAsset.path
)

func (a asset) ServeHTTP(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	w.Header().Set("Content-Type", a.kind)
	_, _ = w.Write(a.data)
}
