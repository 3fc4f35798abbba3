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
	} {
		m.Handle("GET "+path, d.enter(session.DeskViewer, page))
	}
	m.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		d.refuse(w, r, http.StatusNotFound, "There is no page under this address.")
	})
	return m
}
