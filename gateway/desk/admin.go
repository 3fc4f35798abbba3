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

// programDesk answers programs.
type programDesk struct {
	*front
	shelf   Shelf
	backups BackupMaker
	upkeep  Upkeep
	roster  RosterBook
}

// programRoutes are the addresses for programs. Each needs a token with its scope.
func (d *Desk) programRoutes(m *mux.Router, p *programDesk, exports *exportDesk) {
	add := func(path, scope string, next access.Handler, methods ...string) {
		m.Path(adminPath + path).Methods(methods...).Handler(d.guard.Allowed(scope, func(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
			return d.afresh(w, r, v, next)
		}))
	}
	add("export", access.ScopeExport, exports.export, readOnly()...) // names also need the scope "identified"
	add("backup", access.ScopeBackup, p.backup, readOnly()...)
	add("people", access.ScopeRoster, p.people, readOnly()...)
	add("compact", access.ScopeUpkeep, p.compact, http.MethodPost)
	add("clock", access.ScopeUpkeep, p.clock, http.MethodPost)
	add("tokens", access.ScopeTokens, p.tokens, readOnly()...)
	add("tokens", access.ScopeTokens, p.newToken, http.MethodPost)
	add("tokens/{id}", access.ScopeTokens, p.revoke, http.MethodDelete)
	if p.roster != nil {
		add("roster", access.ScopeRoster, p.rosterOut, readOnly()...)
		add("roster", access.ScopeRoster, p.rosterIn, http.MethodPost)
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

// backup streams a copy of the whole store as it is just now.
func (d *programDesk) backup(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if d.backups == nil {
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
	if err := d.backups.Backup(r.Context(), out); err != nil {
		if out.sent {
			d.log.Error().Err(err).Msg("desk: a backup broke off")
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

// people lists people as JSON Lines; names and numbers only with the
// scope "identified".
func (d *programDesk) people(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if v.May(session.DeskCoordinator) {
		if err := d.seen(r.Context(), v, "the list of people with numbers", ""); err != nil {
			return err
		}
	}
	w.Header().Set("Content-Type", "application/jsonl")
	e := json.NewEncoder(&patient{w: w, slow: http.NewResponseController(w)})
	after := session.PersonID("")
	for {
		batch, err := d.shelf.People(r.Context(), after, atOnce)
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
				Stopped: !p.Stopped.IsZero(), Joined: p.Joined.In(d.zone).Format(time.DateOnly),
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

func (d *programDesk) viewToken(a *session.Account) tokenView {
	return tokenView{ID: a.ID, Name: a.Name, Scopes: a.Scopes, Districts: a.Districts, Made: a.Made, Expires: a.Expires, Usable: a.Usable(d.now())}
}

func (d *programDesk) tokens(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
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

func (d *programDesk) newToken(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
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

func (d *programDesk) revoke(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	a, err := d.guard.Revoke(r.Context(), v, mux.Vars(r)["id"])
	if err != nil {
		return err
	}
	answer(w, http.StatusOK, d.viewToken(&a))
	return nil
}
