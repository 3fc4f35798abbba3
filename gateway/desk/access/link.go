package access

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/gorilla/mux"

	"threshline/session"
)

// linkFor is how long a link is good. Source: assumed, [ASSUMED-DESK].
const linkFor = 72 * time.Hour

// linkPath is where links begin; what follows is the secret.
const linkPath = "/desk/link/"

// Address is the address of a request as a log may hold it: without the secret of
// a one-time link, and without what was asked for.
func Address(r *http.Request) string {
	if strings.HasPrefix(r.URL.Path, linkPath) {
		return linkPath + "***"
	}
	return r.URL.Path
}

// withoutFactor, among the scopes of a link, says that the second factor goes with
// the old password.
const withoutFactor = "without-factor"

// longestName is the longest name that one signs in with, in bytes.
const longestName = 32

// FirstLink makes the one-time link by which the first administrator chooses
// a name and password, as a path on the desk's own address; "" when there is
// an administrator already. A link made before is no good any more.
func (reg *Register) FirstLink(ctx context.Context) (string, error) {
	nobody, err := reg.Nobody(ctx)
	if !nobody {
		return "", err
	}
	before, err := reg.removed(ctx, func(a *session.Account) bool { return a.Kind == session.DeskLink && a.Of == "" })
	if err != nil {
		return "", err
	}
	link, path, err := reg.newLink(session.Account{Role: session.DeskAdministrator})
	if err != nil {
		return "", err
	}
	return path, reg.apply(ctx, session.Writes{Accounts: append(before, link)})
}

// Nobody reports whether there is no administrator who can sign in.
func (reg *Register) Nobody(ctx context.Context) (bool, error) {
	some, err := reg.kept(ctx, func(a *session.Account) bool {
		return a.Kind == session.DeskPerson && a.Role == session.DeskAdministrator && a.Usable(reg.now())
	})
	return err == nil && len(some) == 0, err
}

// newLink makes a link for somebody with the role and districts of a.
func (reg *Register) newLink(a session.Account) (session.Account, string, error) {
	secret, err := reg.newSecret()
	if err != nil {
		return session.Account{}, "", err
	}
	now := reg.now()
	a.ID, a.Version, a.Kind, a.Secret = linkID(secret), 0, session.DeskLink, ""
	a.Made, a.Expires, a.Ended = now, now.Add(linkFor), time.Time{}
	return a, linkPath + secret, nil
}

// joinForm is what the page behind a link shows.
type joinForm struct {
	Path, Name, Problem string
	Fixed               bool // the name is given: somebody chooses a new password
	Code                bool // a code of the second factor is asked for
	Role                session.DeskRole
	Districts           []string
	Shortest            int
}

// showLink is the page behind a one-time link. Looking at it uses nothing up:
// a program that fetches links in passing does no harm.
func (g *Guard) showLink(w http.ResponseWriter, r *http.Request) {
	link, err := g.link(r)
	switch {
	case err != nil:
		g.cfg.House.Fail(w, r, err)
	case link == nil:
		g.cfg.House.Refuse(w, r, http.StatusGone, "This link was used already, or is too old. Ask for a new one.")
	default:
		form, err := g.joined(r, link)
		if err != nil {
			g.cfg.House.Fail(w, r, err)
			return
		}
		g.cfg.House.Show(w, r, http.StatusOK, nil, "join", "Choose a name and password", form)
	}
}

// link finds the link of a request, where it is still of use; nil when there is
// none.
func (reg *Register) link(r *http.Request) (*session.Account, error) {
	a, err := reg.usable(r.Context(), linkID(mux.Vars(r)["secret"]))
	if a == nil {
		return nil, err
	}
	if ok, err := reg.stands(r.Context(), a); !ok {
		return nil, err
	}
	return a, nil
}

// joined is what the page behind a link shows. Whoever chooses a new password shows
// the second factor all the same: only a link that was made at the machine itself
// does without.
func (reg *Register) joined(r *http.Request, link *session.Account) (joinForm, error) {
	form := joinForm{
		Path: r.URL.Path, Name: link.Name, Fixed: link.Name != "", Role: link.Role, Districts: link.Districts, Shortest: shortestPassword,
	}
	if !form.Fixed || slices.Contains(link.Scopes, withoutFactor) {
		return form, nil
	}
	account, err := reg.usable(r.Context(), personID(link.Name))
	form.Code = account != nil && account.Factor != ""
	return form, err
}

// useLink makes the account, uses the link up, and signs the browser in.
func (g *Guard) useLink(w http.ResponseWriter, r *http.Request) {
	link, err := g.link(r)
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if link == nil {
		g.cfg.House.Refuse(w, r, http.StatusGone, "This link was used already, or is too old. Ask for a new one.")
		return
	}
	form, err := g.joined(r, link)
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if !form.Fixed {
		form.Name = strings.TrimSpace(r.PostFormValue("name"))
	}
	account, err := g.prepare(r, link, &form)
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if form.Problem != "" {
		g.cfg.House.Show(w, r, http.StatusUnprocessableEntity, nil, "join", "Choose a name and password", form)
		return
	}
	if err := g.join(r.Context(), link, account); errors.Is(err, session.ErrConflict) {
		g.cfg.House.Refuse(w, r, http.StatusConflict, "Somebody was quicker with this link or this name. Nothing was changed.")
		return
	} else if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if err := g.open(w, r, account, "signed in by a one-time link", false); err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, home, http.StatusSeeOther)
}

// prepare makes the account of a form, or says in the form what is wrong.
func (g *Guard) prepare(r *http.Request, link *session.Account, form *joinForm) (*session.Account, error) {
	ctx, password, again := r.Context(), r.PostFormValue("password"), r.PostFormValue("again")
	old, err := g.book.Account(ctx, personID(form.Name))
	if err != nil && !errors.Is(err, session.ErrNotFound) {
		return nil, err
	}
	switch {
	case !fitName(form.Name):
		form.Problem = fmt.Sprintf("A name has 2 to %d letters, digits, dots or hyphens, and no space.", longestName)
	case !form.Fixed && old.Version > 0:
		form.Problem = "This name is taken. Choose another."
	case password != again:
		form.Problem = "The two passwords are not the same."
	default:
		form.Problem = weak(password, form.Name)
	}
	if form.Problem != "" {
		return nil, nil
	}
	leave, err := g.line.enter(ctx, attempt{from: network(g.cfg.Address(r))})
	if errors.Is(err, errLine) {
		form.Problem = crowdedText
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer leave()
	hash, err := g.cfg.Cost.hash(password, g.entropy)
	if err != nil {
		return nil, err
	}
	a := old
	if form.Code && !g.second(&a, r.PostFormValue("code"), []attempt{{}}) {
		form.Problem = "The code is not right."
		return nil, nil
	}
	if slices.Contains(link.Scopes, withoutFactor) {
		a.Factor, a.Recovery = "", nil
	}
	a.ID, a.Kind, a.Name, a.Secret = personID(form.Name), session.DeskPerson, form.Name, hash
	a.Role, a.Districts, a.Ended = link.Role, slices.Clone(link.Districts), time.Time{}
	if a.Made.IsZero() {
		a.Made, a.Of = g.now(), link.Of
	}
	return &a, nil
}

// join stores the account and uses the link up, both or neither. Whoever was
// signed in with the old password is not any more.
func (reg *Register) join(ctx context.Context, link, account *session.Account) error {
	used := *link
	used.Remove = true
	writes := session.Writes{
		Accounts: []session.Account{used, *account},
		Notes:    []session.AuditNote{reg.Note(&Visitor{Account: *account}, "chose a password by a one-time link", string(account.ID))},
	}
	signIns, err := reg.signInsOf(ctx, account.ID)
	if err != nil {
		return err
	}
	writes.Accounts = append(writes.Accounts, signIns...)
	return reg.apply(ctx, writes)
}

// fitName reports whether a text can be a name to sign in with.
func fitName(name string) bool {
	letters := 0
	for _, r := range name {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			letters++
		case r != '.' && r != '-':
			return false
		}
	}
	return letters >= 2 && len(name) <= longestName
}

// codeKind is what the id of a code's record begins with.
const codeKind = "code/"

// CodeOf is the record of a code that a visitor makes for somebody's new number. It
// is stored with the code, so that the code ends with who made it.
func CodeOf(v *Visitor, code string, now, expires time.Time) session.Account {
	return session.Account{ID: session.AccountID(codeKind + code), Kind: session.DeskCode, Of: v.Account.ID, Made: now, Expires: expires}
}

// withCodes makes the codes useless whose records go.
func withCodes(v session.View, w session.Writes) (session.Writes, error) {
	for _, a := range w.Accounts {
		if a.Kind != session.DeskCode || !a.Remove {
			continue
		}
		i, err := v.Invite(strings.TrimPrefix(string(a.ID), codeKind))
		switch {
		case errors.Is(err, session.ErrNotFound): // swept
		case err != nil:
			return session.Writes{}, err
		case !i.Used:
			i.Used = true
			w.Invites = append(w.Invites, i)
		}
	}
	return w, nil
}
