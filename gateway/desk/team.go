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
	Roles                 []paper.Option // for somebody new
	Within                within
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

// teamDesk is for who may use the desk.
type teamDesk struct {
	*front
	accounts  access.Book
	districts []string // the programme's
}

// teamRow is one account in a list.
type teamRow struct {
	ID                 session.AccountID
	Name, Role, Scopes string
	Districts          string
	Made, Expires      string
	State              string
	Usable, Own        bool
	Factor             bool // there is a second factor
	// Roles and Within are what the account can be given, with what it has.
	Roles  []paper.Option
	Within within
}

// roleChoices are the roles with one chosen.
func roleChoices(now session.DeskRole) (list []paper.Option) {
	for _, r := range deskRoles {
		list = append(list, paper.Option{Value: string(r.Role), Label: string(r.Role) + ": " + r.Said, Chosen: r.Role == now})
	}
	return list
}

// within says where a person may see checks: in all districts, or in some.
type within struct {
	All       bool
	Districts []paper.Option
}

// within offers the programme's districts with some chosen, or all of them.
func (d *teamDesk) within(all bool, now []string) (w within) {
	w.All = all
	for _, name := range d.districts {
		w.Districts = append(w.Districts, paper.Option{Value: name, Label: name, Chosen: slices.Contains(now, name)})
	}
	return w
}

func (d *teamDesk) showTeam(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	return d.team(w, r, v, teamPage{}, http.StatusOK)
}

func (d *teamDesk) team(w http.ResponseWriter, r *http.Request, v *access.Visitor, page teamPage, status int) error {
	all, err := d.guard.Accounts(r.Context())
	if err != nil {
		return err
	}
	page.Roles, page.Within, page.Scopes = roleChoices(session.DeskViewer), d.within(false, nil), access.Scopes
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

func (d *teamDesk) teamRow(a *session.Account, v *access.Visitor) teamRow {
	day := func(t time.Time) string {
		if t.IsZero() {
			return "never"
		}
		return d.day(t)
	}
	row := teamRow{
		ID: a.ID, Name: a.Name, Role: string(a.Role), Scopes: paper.List(a.Scopes), Districts: paper.Or(paper.List(a.Districts), "all"),
		Made: day(a.Made), Expires: day(a.Expires), State: "in use", Usable: a.Usable(d.now()), Own: a.ID == v.Account.ID, Factor: a.Factor != "",
		Roles: roleChoices(a.Role), Within: d.within(len(a.Districts) == 0, a.Districts),
	}
	switch {
	case row.Usable && row.Factor:
		row.State = "in use, with a second factor"
	case !a.Ended.IsZero():
		row.State = "ended " + day(a.Ended)
	case !row.Usable:
		row.State = "expired"
	}
	return row
}

// invite makes a one-time link for somebody new.
func (d *teamDesk) invite(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	role := session.DeskRole(r.PostFormValue("role"))
	districts, err := d.grantedDistricts(r, role)
	if err != nil {
		return d.refused(w, r, v, err)
	}
	path, err := d.guard.Invite(r.Context(), v, role, districts)
	if err != nil {
		return err
	}
	return d.team(w, r, v, teamPage{Link: d.address(r) + path}, http.StatusOK)
}

// grantedDistricts reads the districts for a person with a role; none means
// all. An administrator has all without choosing them.
func (d *teamDesk) grantedDistricts(r *http.Request, role session.DeskRole) ([]string, error) {
	all, some := r.PostFormValue("all") == "yes", r.PostForm["district"]
	strange := slices.ContainsFunc(some, func(name string) bool { return !slices.Contains(d.districts, name) })
	switch {
	case !access.Known(role) || strange:
		return nil, paper.Wrong("Choose one of the roles, and districts of the programme.")
	case role == session.DeskAdministrator && len(some) > 0:
		// A person who gives out roles, tokens and copies of the store has all
		// districts.
		return nil, paper.Wrong("An administrator has all districts. Choose no single ones, or choose a coordinator of some.")
	case all && len(some) > 0:
		return nil, paper.Wrong("Choose all districts or some of them, not both.")
	case !all && len(some) == 0 && role != session.DeskAdministrator && len(d.districts) > 0:
		return nil, paper.Wrong("Choose the districts, or choose all of them.")
	}
	return some, nil
}

// refused shows the page again with what is wrong with a form.
func (d *teamDesk) refused(w http.ResponseWriter, r *http.Request, v *access.Visitor, err error) error {
	if wrong, ok := errors.AsType[*paper.InputError](err); ok {
		return d.team(w, r, v, teamPage{Problem: wrong.Problem}, http.StatusUnprocessableEntity)
	}
	return err
}

// change ends an account, gives it another role, or makes a link for a new
// password.
func (d *teamDesk) change(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	a, err := d.accounts.Account(r.Context(), session.AccountID(r.PostFormValue("id")))
	if err != nil {
		return err
	}
	switch do := r.PostFormValue("do"); {
	case do == "end" && a.Kind != session.DeskSignIn && a.Kind != session.DeskMeter:
		return d.changed(w, r, v, d.guard.End(r.Context(), v, a))
	case do == "password" && a.Kind == session.DeskPerson && a.Ended.IsZero():
		path, err := d.guard.PasswordLink(r.Context(), v, &a)
		if err != nil {
			return err
		}
		return d.team(w, r, v, teamPage{Link: d.address(r) + path}, http.StatusOK)
	case do == "factor" && a.Kind == session.DeskPerson && a.ID != v.Account.ID:
		return d.changed(w, r, v, d.guard.DropFactor(r.Context(), v, a))
	case do == "role" && a.Kind == session.DeskPerson:
		return d.regrant(w, r, v, a)
	}
	return paper.Wrong("This cannot be done to this account.")
}

// changed goes back to the page after a change, or says why there was none.
func (d *teamDesk) changed(w http.ResponseWriter, r *http.Request, v *access.Visitor, err error) error {
	switch {
	case errors.Is(err, access.ErrLastAdministrator):
		return d.team(w, r, v, teamPage{Problem: "This is the last administrator. Make another one first."}, http.StatusConflict)
	case err == nil:
		http.Redirect(w, r, "/desk/people", http.StatusSeeOther)
	}
	return err
}

// regrant changes a person's role and districts.
func (d *teamDesk) regrant(w http.ResponseWriter, r *http.Request, v *access.Visitor, a session.Account) error {
	role := session.DeskRole(r.PostFormValue("role"))
	districts, err := d.grantedDistricts(r, role)
	if err != nil {
		return d.refused(w, r, v, err)
	}
	return d.changed(w, r, v, d.guard.Regrant(r.Context(), v, a, role, districts))
}

// createToken makes a token for a program and shows it once.
func (d *teamDesk) createToken(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	days, valid := access.TokenDays(r.PostFormValue("days"))
	districts, err := d.grantedDistricts(r, session.DeskViewer)
	if err == nil && !valid {
		err = paper.Wrong("A token is good for 1 to 366 days.")
	}
	secret := ""
	if err == nil {
		_, secret, err = d.guard.NewToken(r.Context(), v, access.Wish{
			Name: r.PostFormValue("name"), Scopes: r.PostForm["scope"], Districts: districts, AllDistricts: len(districts) == 0, Days: days,
		})
	}
	if err != nil {
		return d.refused(w, r, v, err)
	}
	return d.team(w, r, v, teamPage{Token: secret}, http.StatusOK)
}
