package desk

import (
	"net/http"

	"threshline/session"
)

// routes lists every address of the desk. What changes something is a POST:
// the protection against other sites lets every GET pass.
func (d *Desk) routes() http.Handler {
	m := http.NewServeMux()
	for _, a := range []asset{styleAsset, iconAsset} {
		m.Handle("GET "+a.path, a)
	}
	m.HandleFunc("GET /desk/sign-in", d.showSignIn)
	m.HandleFunc("POST /desk/sign-in", d.signIn)
	m.HandleFunc("GET /desk/link/{secret}", d.showLink)
	m.HandleFunc("POST /desk/link/{secret}", d.useLink)
	m.Handle("POST /desk/sign-out", d.enter(session.DeskViewer, d.signOut))
	for path, page := range map[string]handler{
		"/desk/{$}": d.season, "/desk/grades": d.grades, "/desk/limits": d.limits, "/desk/what-if": d.whatIf, "/desk/districts": d.districts,
		"/desk/lots": d.lots, "/desk/lots/{slip}": d.lot,
		"/desk/growers": d.growers, "/desk/growers/{id}": d.grower, "/desk/messages": d.messages, "/desk/settings": d.settings,
		"/desk/handset": d.showHandset, "/desk/take-away": d.takeAway, "/desk/export": d.export, "/desk/report": d.report,
		"/desk/flags": d.quality,
	} {
		m.Handle("GET "+path, d.enter(session.DeskViewer, page))
	}
	m.Handle("POST /desk/handset", d.enter(session.DeskViewer, d.key))
	for pattern, page := range map[string]handler{
		"GET /desk/people": d.showTeam, "POST /desk/people/invite": d.invite, "POST /desk/people/change": d.change,
		"POST /desk/people/token": d.createToken, "GET /desk/audit": d.audit,
	} {
		m.Handle(pattern, d.enter(session.DeskAdministrator, page))
	}
	d.adminRoutes(m)
	m.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		d.refuse(w, r, http.StatusNotFound, "There is no page under this address.")
	})
	return m
}
