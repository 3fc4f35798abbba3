package desk

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/session"
)

// teamPage is who may use the desk, and the tokens of programs.
type teamPage struct {
	People, Tokens, Links []teamRow
	Roles, Within         []paper.Option // for somebody new
	Scopes                []access.ScopeOption
	// Link and Token are shown once, right after they were made.
	Link, Token string
	Problem     string
}

type roleOption struct {
	Role session.DeskRole
	Said string
}

// deskRoles are the roles in words.
var deskRoles = []roleOption{
	{session.DeskViewer, "sees the season, never who anybody is"},
	{session.DeskCoordinator, "also sees names and numbers of the districts given"},
	{session.DeskAdministrator, "of all districts, and also people, tokens and the audit log"},
}

// teamRow is one account in a list.
type teamRow struct {
	ID                 session.AccountID
	Name, Role, Scopes string
	Districts          string
	Made, Expires      string
	State              string
	Usable, Own        bool
	// Roles and Within are what the account can be given, with what it has.
	Roles, Within []paper.Option
}

// roleChoices are the roles with one chosen.
func roleChoices(now session.DeskRole) (list []paper.Option) {
	for _, r := range deskRoles {
		list = append(list, paper.Option{Value: string(r.Role), Label: string(r.Role) + ": " + r.Said, Chosen: r.Role == now})
	}
	return list
}

// districtChoices are the programme's districts with some chosen.
func (d *Desk) districtChoices(now []string) (list []paper.Option) {
	for _, name := range d.cfg.Programme.Districts {
		list = append(list, paper.Option{Value: name, Label: name, Chosen: slices.Contains(now, name)})
	}
	return list
}

func (d *Desk) showTeam(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	return d.team(w, r, v, teamPage{}, http.StatusOK)
}

func (d *Desk) team(w http.ResponseWriter, r *http.Request, v *access.Visitor, page teamPage, status int) error {
	all, err := d.guard.Accounts(r.Context())
	if err != nil {
		return err
	}
	page.Roles, page.Within, page.Scopes = roleChoices(session.DeskViewer), d.districtChoices(nil), access.Scopes
	for i := range all {
		a := &all[i]
		row := d.teamRow(a, v)
		switch a.Kind {
		case session.DeskPerson:
			page.People = append(page.People, row)
		case session.DeskToken:
			page.Tokens = append(page.Tokens, row)
		case session.DeskLink:
			if row.Usable {
				page.Links = append(page.Links, row)
			}
		}
	}
	d.Show(w, r, status, v, "people", "People and tokens", page)
	return nil
}

func (d *Desk) teamRow(a *session.Account, v *access.Visitor) teamRow {
	day := func(t time.Time) string {
		if t.IsZero() {
			return "never"
		}
		return t.In(d.cfg.Programme.Zone).Format("2 Jan 2006")
	}
	row := teamRow{
		ID: a.ID, Name: a.Name, Role: string(a.Role), Scopes: paper.List(a.Scopes), Districts: paper.Or(paper.List(a.Districts), "all"),
		Made: day(a.Made), Expires: day(a.Expires), State: "in use", Usable: a.Usable(d.cfg.Now()), Own: a.ID == v.Account.ID,
		Roles: roleChoices(a.Role), Within: d.districtChoices(a.Districts),
	}
	switch {
	case !a.Ended.IsZero():
		row.State = "ended " + day(a.Ended)
	case !row.Usable:
		row.State = "expired"
	}
	return row
}

// invite makes a one-time link for somebody new.
func (d *Desk) invite(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	role := session.DeskRole(r.PostFormValue("role"))
	districts, ok := d.ownDistricts(r.PostForm["district"])
	if problem := access.UnfitRole(role, districts, ok); problem != "" {
		return d.team(w, r, v, teamPage{Problem: problem}, http.StatusUnprocessableEntity)
	}
	path, err := d.guard.Invite(r.Context(), v, role, districts)
	if err != nil {
		return err
	}
	return d.team(w, r, v, teamPage{Link: d.address(r) + path}, http.StatusOK)
}

// ownDistricts takes only districts that the programme has.
func (d *Desk) ownDistricts(asked []string) ([]string, bool) {
	var list []string
	for _, name := range asked {
		if !slices.Contains(d.cfg.Programme.Districts, name) {
			return nil, false
		}
		list = append(list, name)
	}
	return list, true
}

// address is the desk's own address as the visitor reached it.
func (d *Desk) address(r *http.Request) string {
	if d.guard.ByTLS(r) {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// change ends an account, gives it another role, or makes a link for a new
// password.
func (d *Desk) change(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	a, err := d.cfg.Accounts.Account(r.Context(), session.AccountID(r.PostFormValue("id")))
	if err != nil {
		return err
	}
	switch do := r.PostFormValue("do"); {
	case do == "end" && a.Kind != session.DeskSignIn:
		return d.changed(w, r, v, d.guard.End(r.Context(), v, a))
	case do == "password" && a.Kind == session.DeskPerson && a.Ended.IsZero():
		path, err := d.guard.PasswordLink(r.Context(), v, &a)
		if err != nil {
			return err
		}
		return d.team(w, r, v, teamPage{Link: d.address(r) + path}, http.StatusOK)
	case do == "role" && a.Kind == session.DeskPerson:
		return d.regrant(w, r, v, a)
	}
	return paper.Wrong("This cannot be done to this account.")
}

// changed goes back to the page after a change, or says why there was none.
func (d *Desk) changed(w http.ResponseWriter, r *http.Request, v *access.Visitor, err error) error {
	switch {
	case errors.Is(err, access.ErrLastAdministrator):
		return d.team(w, r, v, teamPage{Problem: "This is the last administrator. Make another one first."}, http.StatusConflict)
	case err == nil:
		http.Redirect(w, r, "/desk/people", http.StatusSeeOther)
	}
	return err
}

// regrant gives a person another role and districts.
func (d *Desk) regrant(w http.ResponseWriter, r *http.Request, v *access.Visitor, a session.Account) error {
	role := session.DeskRole(r.PostFormValue("role"))
	districts, ok := d.ownDistricts(r.PostForm["district"])
	if problem := access.UnfitRole(role, districts, ok); problem != "" {
		return d.team(w, r, v, teamPage{Problem: problem}, http.StatusUnprocessableEntity)
	}
	return d.changed(w, r, v, d.guard.Regrant(r.Context(), v, a, role, districts))
}

// createToken makes a token for a program and shows it once.
func (d *Desk) createToken(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	days, valid := access.TokenDays(r.PostFormValue("days"))
	districts, ok := d.ownDistricts(r.PostForm["district"])
	if !ok || !valid {
		return d.team(w, r, v, teamPage{Problem: "Choose districts of the programme, and 1 to 366 days."}, http.StatusUnprocessableEntity)
	}
	_, secret, err := d.guard.NewToken(r.Context(), v, access.Wish{Name: r.PostFormValue("name"), Scopes: r.PostForm["scope"], Districts: districts, Days: days})
	var wrong *paper.InputError
	if errors.As(err, &wrong) {
		return d.team(w, r, v, teamPage{Problem: wrong.Problem}, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	return d.team(w, r, v, teamPage{Token: secret}, http.StatusOK)
}
