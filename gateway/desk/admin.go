package desk

import (
	"encoding/json"
	"io"
	"net/http"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"

	"github.com/gorilla/mux"
)

// adminPath is where the interface for programs begins.
const adminPath = "/admin/v1/"

// adminRoutes are the addresses for programs. Each needs a token with its scope.
func (d *Desk) adminRoutes(m *mux.Router) {
	add := func(path, scope string, next access.Handler, methods ...string) {
		m.Path(adminPath + path).Methods(methods...).Handler(d.guard.Allowed(scope, func(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
			return d.afresh(w, r, v, next)
		}))
	}
	add("export", access.ScopeExport, d.adminExport, readOnly()...)
	add("backup", access.ScopeBackup, d.backup, readOnly()...)
	add("people", access.ScopeRoster, d.adminPeople, readOnly()...)
	add("compact", access.ScopeUpkeep, d.adminCompact, http.MethodPost)
	add("clock", access.ScopeUpkeep, d.adminClock, http.MethodPost)
	add("tokens", access.ScopeTokens, d.adminTokens, readOnly()...)
	add("tokens", access.ScopeTokens, d.adminNewToken, http.MethodPost)
	add("tokens/{id}", access.ScopeTokens, d.adminRevoke, http.MethodDelete)
	if d.cfg.Roster != nil {
		add("roster", access.ScopeRoster, d.adminRosterOut, readOnly()...)
		add("roster", access.ScopeRoster, d.adminRosterIn, http.MethodPost)
	}
}

// atOnce is how many records are read in one go.
const atOnce = 500

// answerError tells a program why nothing was done.
func answerError(w http.ResponseWriter, status int, why string) {
	answer(w, status, map[string]string{"error": why})
}

func answer(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v)
}

// adminExport is the export; the scope "identified" is asked for as well when
// names are wanted.
func (d *Desk) adminExport(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	return d.export(w, r, v)
}

// backup streams a copy of the whole store as it is just now.
func (d *Desk) backup(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if d.cfg.Backup == nil {
		return session.ErrNotFound
	}
	if len(v.Account.Districts) > 0 {
		answerError(w, http.StatusForbidden, "a copy of the store needs a token for all districts")
		return nil
	}
	if err := d.seen(r.Context(), v, "the whole store as a backup", ""); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Disposition", `attachment; filename="threshline.db"`)
	out := &patient{w: w, slow: http.NewResponseController(w)}
	if err := d.cfg.Backup.Backup(r.Context(), out); err != nil {
		if out.sent {
			d.cfg.Log.Error().Err(err).Msg("desk: a backup broke off")
			panic(http.ErrAbortHandler)
		}
		w.Header().Del("Content-Disposition")
		return err
	}
	return nil
}

// patient lets a long answer go on for as long as its reader keeps reading.
type patient struct {
	w    io.Writer
	slow *http.ResponseController
	sent bool
}

func (p *patient) Write(b []byte) (int, error) {
	p.sent = true
	_ = p.slow.SetWriteDeadline(time.Now().Add(writeWithin))
	return p.w.Write(b)
}

// personView is a person in the form that programs receive.
type personView struct {
	ID       session.PersonID `json:"id"`
	Role     session.Role     `json:"role"`
	District string           `json:"district,omitempty"`
	Village  string           `json:"village,omitempty"`
	Language session.Language `json:"language,omitempty"`
	Agent    session.PersonID `json:"agent,omitempty"`
	Name     string           `json:"name,omitempty"`
	Number   string           `json:"number,omitempty"`
	Stopped  bool             `json:"stopped,omitempty"`
	Joined   string           `json:"joined,omitempty"`
}

// adminPeople lists people as JSON Lines; names and numbers only with the
// scope "identified".
func (d *Desk) adminPeople(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if v.May(session.DeskCoordinator) {
		if err := d.seen(r.Context(), v, "the list of people with numbers", ""); err != nil {
			return err
		}
	}
	w.Header().Set("Content-Type", "application/jsonl")
	e := json.NewEncoder(&patient{w: w, slow: http.NewResponseController(w)})
	after := session.PersonID("")
	for {
		batch, err := d.cfg.Shelf.People(r.Context(), after, atOnce)
		if err != nil {
			return err
		}
		for i := range batch {
			p := &batch[i]
			if !v.Sees(p.District) {
				continue
			}
			out := personView{
				ID: p.ID, Role: p.Role, District: p.District, Village: p.Village, Language: p.Language, Agent: p.Agent,
				Stopped: !p.Stopped.IsZero(), Joined: p.Joined.In(d.cfg.Programme.Zone).Format(time.DateOnly),
			}
			if v.Knows(p.District) {
				out.Name, out.Number = p.Name, string(p.Phone)
			}
			if err := e.Encode(out); err != nil {
				return err
			}
		}
		if len(batch) < atOnce {
			return nil
		}
		after = batch[len(batch)-1].ID
	}
}

// tokenView is a token in the form that programs receive, without its secret.
type tokenView struct {
	ID        session.AccountID `json:"id"`
	Name      string            `json:"name"`
	Scopes    []string          `json:"scopes"`
	Districts []string          `json:"districts,omitempty"`
	Made      time.Time         `json:"made"`
	Expires   time.Time         `json:"expires"`
	Usable    bool              `json:"usable"`
	Token     string            `json:"token,omitempty"` // once, when it is made
}

func (d *Desk) viewToken(a *session.Account) tokenView {
	return tokenView{ID: a.ID, Name: a.Name, Scopes: a.Scopes, Districts: a.Districts, Made: a.Made, Expires: a.Expires, Usable: a.Usable(d.cfg.Now())}
}

func (d *Desk) adminTokens(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	all, err := d.guard.Tokens(r.Context(), v)
	if err != nil {
		return err
	}
	list := []tokenView{}
	for i := range all {
		list = append(list, d.viewToken(&all[i]))
	}
	answer(w, http.StatusOK, list)
	return nil
}

func (d *Desk) adminNewToken(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	var wish access.Wish
	in := json.NewDecoder(http.MaxBytesReader(w, r.Body, mostForm))
	in.DisallowUnknownFields()
	if err := in.Decode(&wish); err != nil {
		return paper.Wrong("The body is not a token's name, scopes, districts and days as JSON.")
	}
	a, secret, err := d.guard.NewToken(r.Context(), v, wish)
	if err != nil {
		return err
	}
	out := d.viewToken(&a)
	out.Token = secret
	answer(w, http.StatusCreated, out)
	return nil
}

func (d *Desk) adminRevoke(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	a, err := d.guard.Revoke(r.Context(), v, mux.Vars(r)["id"])
	if err != nil {
		return err
	}
	answer(w, http.StatusOK, d.viewToken(&a))
	return nil
}
