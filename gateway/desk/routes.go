package desk

import (
	"errors"
	"net/http"
	"time"

	"github.com/gorilla/mux"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/reckon"
	"threshline/session"
	"threshline/session/ledger"
)

// routes lists every address of the desk, and makes the desk of each matter from
// what it needs. Every change is a POST, because the protection against other sites
// lets every GET pass.
func (d *Desk) routes(cfg *Config) http.Handler {
	m, scheme := mux.NewRouter(), cfg.Programme
	words := &terms{programme: scheme, tables: cfg.Standards, person: func(id session.PersonID) (ledger.Person, bool) { return cfg.Ledger.View().Person(id) }}
	choice := &chooser{front: d.front, terms: words, ledger: cfg.Ledger, listed: map[session.AccountID]bool{}, figures: reckon.New(reckon.Settings{
		Ledger: cfg.Ledger, Now: cfg.Now, Pace: cfg.Pace, Reading: func() bool { return d.reading() != "" },
		Broken: func(why any) { d.log.Error().Any("panic", why).Msg("desk: the ledger could not be computed") },
	})}
	season, hands, exports := &seasonDesk{choice}, &handDesk{choice, cfg.Records}, &exportDesk{choice, cfg.Records}
	lots := &lotDesk{chooser: choice, records: cfg.Records, entropy: cfg.Entropy, clearing: cfg.Clear}
	meters := &meterDesk{front: d.front, terms: words, ledger: cfg.Ledger, records: cfg.Records, accounts: cfg.Accounts, metered: cfg.Metered}
	people := &peopleDesk{front: d.front, terms: words, records: cfg.Records, shelf: cfg.Shelf, entropy: cfg.Entropy, meterChoices: meters.meterChoices}
	messages := &messageDesk{d.front, cfg.Records, cfg.Shelf, cfg.Channels, scheme.Currency}
	team := &teamDesk{d.front, cfg.Accounts, scheme.Districts}
	settings, audit, phone := &settingsDesk{d.front, scheme, cfg.Channels}, &auditDesk{d.front, cfg.Shelf}, &handsetDesk{d.front, cfg.Handset}

	for _, a := range []paper.Asset{paper.Style, paper.Icon} {
		m.Path(a.Path).Methods(readOnly()...).Handler(a)
	}
	d.guard.Routes(m)
	pages := func(role session.DeskRole, methods func() []string, list map[string]access.Handler) {
		for path, page := range list {
			m.Path(path).Methods(methods()...).Handler(d.enter(role, page))
		}
	}
	pages(session.DeskViewer, readOnly, map[string]access.Handler{
		home: season.season, "/desk/grades": season.grades, "/desk/limits": season.limits, "/desk/what-if": season.whatIf, "/desk/districts": season.districts,
		"/desk/report": season.report, "/desk/findings": season.findings, "/desk/visits": season.toVisit, "/desk/hands": hands.hands,
		"/desk/lots": lots.lots, "/desk/lots/{slip}": lots.lot, "/desk/growers": people.growers, "/desk/growers/{id}": people.grower,
		"/desk/messages": messages.messages, "/desk/settings": settings.settings, "/desk/handset": phone.showHandset, "/desk/meters": meters.showMeters,
		"/desk/export": exports.showExport, "/desk/export/file": exports.export,
	})
	pages(session.DeskCoordinator, change, map[string]access.Handler{
		"/desk/meters": meters.checkMeter, "/desk/meters/retire": meters.retireMeter, "/desk/growers/{id}/meter": meters.giveMeter,
		"/desk/growers/{id}/code": people.moveCode, "/desk/lots/{slip}/clear": lots.clear,
	})
	pages(session.DeskViewer, change, map[string]access.Handler{"/desk/handset": phone.key})
	pages(session.DeskAdministrator, readOnly, map[string]access.Handler{"/desk/people": team.showTeam, "/desk/audit": audit.audit})
	pages(session.DeskAdministrator, change, map[string]access.Handler{
		"/desk/people/invite": team.invite, "/desk/people/change": team.change, "/desk/people/token": team.createToken,
	})
	d.programRoutes(m, &programDesk{d.front, cfg.Shelf, cfg.Backup, cfg.Upkeep, cfg.Roster}, exports)
	nothing := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		d.Refuse(w, r, http.StatusNotFound, "There is no page under this address.")
	})
	m.NotFoundHandler, m.MethodNotAllowedHandler = nothing, nothing
	return m
}

// readOnly are the methods that change nothing. The router writes into the list that
// it is given, so each route has its own: a reload may build another desk meanwhile.
func readOnly() []string { return []string{http.MethodGet, http.MethodHead} }
func change() []string   { return []string{http.MethodPost} }

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
	if d.fresh != nil {
		if err := d.fresh(r.Context()); err != nil {
			return err
		}
	}
	return next(w, r, v)
}
