package desk

import (
	"errors"
	"net/http"
	"time"

	"github.com/gorilla/mux"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
)

// routes lists every address of the desk. Every change is a POST, because the
// protection against other sites lets every GET pass.
func (d *Desk) routes() http.Handler {
	m := mux.NewRouter()
	for _, a := range []paper.Asset{paper.Style, paper.Icon} {
		m.Path(a.Path).Methods(readOnly()...).Handler(a)
	}
	d.guard.Routes(m)
	for path, page := range map[string]access.Handler{
		home: d.season, "/desk/grades": d.grades, "/desk/limits": d.limits, "/desk/what-if": d.whatIf, "/desk/districts": d.districts,
		"/desk/lots": d.lots, "/desk/lots/{slip}": d.lot,
		"/desk/growers": d.growers, "/desk/growers/{id}": d.grower, "/desk/messages": d.messages, "/desk/settings": d.settings,
		"/desk/handset": d.showHandset, "/desk/export": d.showExport, "/desk/export/file": d.export, "/desk/report": d.report,
		"/desk/findings": d.findings, "/desk/visits": d.toVisit, "/desk/hands": d.hands, "/desk/meters": d.showMeters,
	} {
		m.Path(path).Methods(readOnly()...).Handler(d.enter(session.DeskViewer, page))
	}
	for path, page := range map[string]access.Handler{
		"/desk/meters": d.checkMeter, "/desk/meters/retire": d.retireMeter, "/desk/growers/{id}/meter": d.giveMeter,
	} {
		m.Path(path).Methods(http.MethodPost).Handler(d.enter(session.DeskCoordinator, page))
	}
	m.Path("/desk/growers/{id}/code").Methods(http.MethodPost).Handler(d.enter(session.DeskCoordinator, d.moveCode))
	m.Path("/desk/lots/{slip}/clear").Methods(http.MethodPost).Handler(d.enter(session.DeskCoordinator, d.clear))
	m.Path("/desk/handset").Methods(http.MethodPost).Handler(d.enter(session.DeskViewer, d.key))
	for path, page := range map[string]access.Handler{"/desk/people": d.showTeam, "/desk/audit": d.audit} {
		m.Path(path).Methods(readOnly()...).Handler(d.enter(session.DeskAdministrator, page))
	}
	for path, page := range map[string]access.Handler{
		"/desk/people/invite": d.invite, "/desk/people/change": d.change, "/desk/people/token": d.createToken,
	} {
		m.Path(path).Methods(http.MethodPost).Handler(d.enter(session.DeskAdministrator, page))
	}
	d.adminRoutes(m)
	nothing := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		d.Refuse(w, r, http.StatusNotFound, "There is no page under this address.")
	})
	m.NotFoundHandler, m.MethodNotAllowedHandler = nothing, nothing
	return m
}

// readOnly are the methods that change nothing. The router writes into the list that
// it is given, so each route has its own: a reload may build another desk meanwhile.
func readOnly() []string { return []string{http.MethodGet, http.MethodHead} }

// enter lets a signed-in visitor with the role see a page over everything that
// was filed so far.
func (d *Desk) enter(role session.DeskRole, page access.Handler) http.Handler {
	return d.guard.Enter(role, func(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
		// A page over a million checks may take longer than a carrier may.
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(writeWithin))
		if err := d.afresh(w, r, v, page); !errors.Is(err, errShown) {
			return err
		}
		return nil
	})
}

// afresh answers from everything that was filed so far.
func (d *Desk) afresh(w http.ResponseWriter, r *http.Request, v *access.Visitor, next access.Handler) error {
	if d.cfg.Fresh != nil {
		if err := d.cfg.Fresh(r.Context()); err != nil {
			return err
		}
	}
	return next(w, r, v)
}
