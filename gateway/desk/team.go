package desk

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"threshline/session"
)

// teamPage is who may use the desk, and the tokens of programs.
type teamPage struct {
	People, Tokens, Links []teamRow
	Roles, Within         []option // for somebody new
	Scopes                []scopeOption
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
	Roles, Within []option
}

// roleChoices are the roles with one chosen.
func roleChoices(now session.DeskRole) (list []option) {
	for _, r := range deskRoles {
		list = append(list, option{string(r.Role), string(r.Role) + ": " + r.Said, r.Role == now})
	}
	return list
}

// districtChoices are the programme's districts with some chosen.
func (d *Desk) districtChoices(now []string) (list []option) {
	for _, name := range d.cfg.Programme.Districts {
		list = append(list, option{name, name, slices.Contains(now, name)})
	}
	return list
}

func (d *Desk) showTeam(w http.ResponseWriter, r *http.Request, v *visitor) error {
	return d.team(w, r, v, teamPage{}, http.StatusOK)
}

func (d *Desk) team(w http.ResponseWriter, r *http.Request, v *visitor, page teamPage, status int) error {
	all, err := d.accounts(r.Context())
	if err != nil {
		return err
	}
	page.Roles, page.Within, page.Scopes = roleChoices(session.DeskViewer), d.districtChoices(nil), scopes
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
	d.show(w, r, status, v, "people", "People and tokens", page)
	return nil
}

func (d *Desk) teamRow(a *session.Account, v *visitor) teamRow {
	day := func(t time.Time) string {
		if t.IsZero() {
			return "never"
		}
		return t.In(d.cfg.Programme.Zone).Format("2 Jan 2006")
	}
	row := teamRow{
		ID: a.ID, Name: a.Name, Role: string(a.Role), Scopes: list(a.Scopes), Districts: saidOf(list(a.Districts), "all"),
		Made: day(a.Made), Expires: day(a.Expires), State: "in use", Usable: a.Usable(d.cfg.Now()), Own: a.ID == v.account.ID,
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
func (d *Desk) invite(w http.ResponseWriter, r *http.Request, v *visitor) error {
	role := session.DeskRole(r.PostFormValue("role"))
	districts, ok := d.ownDistricts(r.PostForm["district"])
	if problem := unfitRole(role, districts, ok); problem != "" {
		return d.team(w, r, v, teamPage{Problem: problem}, http.StatusUnprocessableEntity)
	}
	link, path, err := d.newLink(session.Account{Role: role, Districts: districts, Of: v.account.ID})
	if err != nil {
		return err
	}
	err = d.apply(r.Context(), session.Writes{
		Accounts: []session.Account{link}, Notes: []session.AuditNote{d.note(v, "made a one-time link for a "+string(role), list(districts))},
	})
	if err != nil {
		return err
	}
	return d.team(w, r, v, teamPage{Link: d.address(r) + path}, http.StatusOK)
}

// unfitRole says what is wrong with a role and districts that somebody is to be
// given; "" when nothing is. known says that the districts are the programme's.
func unfitRole(role session.DeskRole, districts []string, known bool) string {
	switch {
	case rank(role) == 0 || !known:
		return "Choose one of the roles, and districts of the programme."
	case role == session.DeskAdministrator && len(districts) > 0:
		// Whoever gives out roles, tokens and copies of the store holds them all.
		return "An administrator has all districts. Leave the districts empty, or choose a coordinator of some."
	}
	return ""
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
	if d.byTLS(r) {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// change ends an account, gives it another role, or makes a link for a new
// password.
func (d *Desk) change(w http.ResponseWriter, r *http.Request, v *visitor) error {
	a, err := d.cfg.Accounts.Account(r.Context(), session.AccountID(r.PostFormValue("id")))
	if err != nil {
		return err
	}
	switch do := r.PostFormValue("do"); {
	case do == "end" && a.Kind != session.DeskSignIn:
		return d.end(w, r, v, a)
	case do == "password" && a.Kind == session.DeskPerson && a.Ended.IsZero():
		link, path, err := d.newLink(session.Account{Role: a.Role, Districts: a.Districts, Of: v.account.ID, Name: a.Name})
		if err == nil {
			err = d.apply(r.Context(), session.Writes{
				Accounts: []session.Account{link}, Notes: []session.AuditNote{d.note(v, "made a link for a new password", string(a.ID))},
			})
		}
		if err != nil {
			return err
		}
		return d.team(w, r, v, teamPage{Link: d.address(r) + path}, http.StatusOK)
	case do == "role" && a.Kind == session.DeskPerson:
		return d.regrant(w, r, v, a)
	}
	return &inputError{"This cannot be done to this account."}
}

// end ends an account at once: its sign-ins with it. The last administrator
// stays, or nobody could let anybody in again.
func (d *Desk) end(w http.ResponseWriter, r *http.Request, v *visitor, a session.Account) error {
	last, err := d.lastAdministrator(r.Context(), a.ID)
	if err != nil {
		return err
	}
	if last {
		return d.team(w, r, v, teamPage{Problem: "This is the last administrator. Make another one first."}, http.StatusConflict)
	}
	writes := session.Writes{Notes: []session.AuditNote{d.note(v, "ended a "+string(a.Kind), string(a.ID))}}
	a.Ended, a.Remove = d.cfg.Now(), a.Kind == session.DeskLink
	writes.Accounts = []session.Account{a}
	ways, err := d.waysIn(r.Context(), &a)
	if err != nil {
		return err
	}
	writes.Accounts = append(writes.Accounts, ways...)
	if err := d.apply(r.Context(), writes); err != nil {
		return err
	}
	http.Redirect(w, r, "/desk/people", http.StatusSeeOther)
	return nil
}

// regrant gives a person another role and districts.
func (d *Desk) regrant(w http.ResponseWriter, r *http.Request, v *visitor, a session.Account) error {
	role := session.DeskRole(r.PostFormValue("role"))
	districts, ok := d.ownDistricts(r.PostForm["district"])
	last, err := d.lastAdministrator(r.Context(), a.ID)
	if err != nil {
		return err
	}
	switch problem := unfitRole(role, districts, ok); {
	case problem != "":
		return d.team(w, r, v, teamPage{Problem: problem}, http.StatusUnprocessableEntity)
	case last && role != session.DeskAdministrator:
		return d.team(w, r, v, teamPage{Problem: "This is the last administrator. Make another one first."}, http.StatusConflict)
	}
	links, err := d.linksOf(r.Context(), &a)
	if err != nil {
		return err
	}
	a.Role, a.Districts = role, districts
	err = d.apply(r.Context(), session.Writes{
		Accounts: append(links, a), Notes: []session.AuditNote{d.note(v, strings.TrimSpace("gave the role "+string(role)+" "+list(districts)), string(a.ID))},
	})
	if err == nil {
		http.Redirect(w, r, "/desk/people", http.StatusSeeOther)
	}
	return err
}

// lastAdministrator tells whether an account is the only administrator left.
func (d *Desk) lastAdministrator(ctx context.Context, id session.AccountID) (bool, error) {
	people, err := d.people(ctx)
	others, is := 0, false
	for i := range people {
		if people[i].Role == session.DeskAdministrator && people[i].Usable(d.cfg.Now()) {
			if people[i].ID == id {
				is = true
			} else {
				others++
			}
		}
	}
	return is && others == 0, err
}

// createToken makes a token for a program and shows it once.
func (d *Desk) createToken(w http.ResponseWriter, r *http.Request, v *visitor) error {
	days, valid := tokenDays(r.PostFormValue("days"))
	districts, ok := d.ownDistricts(r.PostForm["district"])
	if !ok || !valid {
		return d.team(w, r, v, teamPage{Problem: "Choose districts of the programme, and 1 to 366 days."}, http.StatusUnprocessableEntity)
	}
	_, secret, err := d.newToken(r.Context(), v, tokenWish{Name: r.PostFormValue("name"), Scopes: r.PostForm["scope"], Districts: districts, Days: days})
	var wrong *inputError
	if errors.As(err, &wrong) {
		return d.team(w, r, v, teamPage{Problem: wrong.Problem}, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	return d.team(w, r, v, teamPage{Token: secret}, http.StatusOK)
}
