package access

import (
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/boombuler/barcode/qr"

	"threshline/gateway/desk/paper"
	"threshline/session"
)

// accountPath is where everybody sees to their own account.
const accountPath = "/desk/account"

// accountPage is somebody's own account.
type accountPage struct {
	Problem, Done string
	Shortest      int
	Must          bool // a second factor has to be set up before anything else
	Has           bool // there is one
	Left          int  // recovery codes
	New           newFactor
	Recovery      []string // shown once, right after they were made
	SignIns       []signInRow
}

// newFactor is a second factor that is not set up yet, as an app takes it: read
// from a drawing of so many squares, followed as a link, or typed.
type newFactor struct {
	Factor, Typed string
	Link          template.URL
	Drawing       string
	size          int
}

// Frame is the side of the drawing with the white around it that a camera needs.
func (n newFactor) Frame() int { return n.size + 8 }

// signInRow is a browser that somebody is signed in with.
type signInRow struct {
	ID                session.AccountID
	Since, Seen, From string
	Here              bool
}

func (g *Guard) showAccount(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	return g.account(w, r, v, http.StatusOK, accountPage{})
}

// account shows the account with what was just done, or what is wrong.
func (g *Guard) account(w http.ResponseWriter, r *http.Request, v *Visitor, status int, page accountPage) error {
	page.Shortest, page.Must, page.Has, page.Left = shortestPassword, g.LacksFactor(v), v.Account.Factor != "", len(v.Account.Recovery)
	var err error
	if page.New.Factor == "" {
		if page.New.Factor, err = g.newFactor(); err != nil {
			return err
		}
	}
	if page.New, err = g.drawn(v.Account.Name, page.New.Factor); err != nil {
		return err
	}
	mine, err := g.kept(r.Context(), func(a *session.Account) bool {
		return a.Kind == session.DeskSignIn && a.Of == v.Account.ID && a.Usable(g.now())
	})
	if err != nil {
		return err
	}
	slices.SortFunc(mine, func(a, b session.Account) int { return b.Made.Compare(a.Made) })
	said := func(t time.Time) string { return t.In(g.cfg.Zone).Format(paper.DateTime) }
	for _, a := range mine {
		seen := a.Expires.Add(-idleFor)
		if seen.Before(a.Made) { // its last hour
			seen = a.Made
		}
		page.SignIns = append(page.SignIns, signInRow{a.ID, said(a.Made), said(seen), a.Name, a.ID == v.SignIn})
	}
	g.cfg.House.Show(w, r, status, v, "account", "Your account", page)
	return nil
}

// drawn is a new factor in all its forms.
func (g *Guard) drawn(name, factor string) (n newFactor, err error) {
	link, err := g.factorLink(name, factor)
	if err != nil {
		return n, err
	}
	code, err := qr.Encode(link, qr.M, qr.Auto)
	if err != nil {
		return n, err
	}
	n = newFactor{Factor: factor, Link: template.URL(link), size: code.Bounds().Dx()} // ours, of letters and digits
	var path strings.Builder
	for y := range n.size {
		for x := range n.size {
			if dark, _, _, _ := code.At(x, y).RGBA(); dark == 0 {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	n.Drawing = path.String()
	for parts := range slices.Chunk([]byte(factor), 4) {
		n.Typed = strings.TrimSpace(n.Typed + " " + string(parts))
	}
	return n, nil
}

// changePassword lets somebody choose a new password who knows the old one. Other
// browsers are signed out.
func (g *Guard) changePassword(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	fresh, problem := r.PostFormValue("password"), ""
	switch {
	case fresh != r.PostFormValue("again"):
		problem = "The two passwords are not the same."
	default:
		problem = weak(fresh, v.Account.Name)
	}
	if problem != "" {
		return g.account(w, r, v, http.StatusUnprocessableEntity, accountPage{Problem: problem})
	}
	tries, err := g.tries(r, strings.ToLower(v.Account.Name))
	if err != nil {
		return err
	}
	if wait := g.throttle.begin(g.now(), tries...); wait > 0 {
		return g.account(w, r, v, http.StatusTooManyRequests, accountPage{Problem: "Too many wrong passwords came from where you are. Wait " + roughly(wait) + ", then try again."})
	}
	ok, err := g.rehash(r, &v.Account, r.PostFormValue("old"), fresh, tries)
	switch {
	case errors.Is(err, errLine):
		g.throttle.undo(tries...)
		return g.account(w, r, v, http.StatusTooManyRequests, accountPage{Problem: crowdedText})
	case err != nil:
		g.throttle.undo(tries...)
		return err
	case !ok:
		return g.account(w, r, v, http.StatusUnprocessableEntity, accountPage{Problem: "The old password is not right."})
	}
	g.throttle.succeed(tries...)
	links, err := g.linksOf(r.Context(), &v.Account)
	if err != nil {
		return err
	}
	if err := g.alone(r, v, "changed the own password", links...); err != nil {
		return err
	}
	if err := g.remember(w, r, &v.Account); err != nil {
		return err
	}
	return g.account(w, r, v, http.StatusOK, accountPage{Done: "The password is changed. Your other browsers are signed out."})
}

// rehash puts a new password in the place of the old one, if that is right.
func (g *Guard) rehash(r *http.Request, a *session.Account, old, fresh string, tries []attempt) (bool, error) {
	leave, err := g.line.enter(r.Context(), inLine(tries))
	if err != nil {
		return false, err
	}
	defer leave()
	ok, _, err := matches(a.Secret, old)
	if ok {
		a.Secret, err = g.cfg.Cost.hash(fresh, g.entropy)
	}
	return ok, err
}

// setFactor sets up a second factor, or another one in its place, once the app
// shows the right code.
func (g *Guard) setFactor(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	page := accountPage{New: newFactor{Factor: r.PostFormValue("factor")}}
	if _, err := g.factorLink(v.Account.Name, page.New.Factor); err != nil {
		return err
	}
	next := session.Account{Factor: page.New.Factor}
	switch {
	case !takeCode(&next, r.PostFormValue("code"), g.now()):
		page.Problem = "The code is not right. Check that the phone’s clock is right, and use the next code."
	case !g.second(&v.Account, r.PostFormValue("current"), []attempt{{}}):
		page.Problem = "The code of your present second factor is not right."
	}
	if page.Problem != "" {
		return g.account(w, r, v, http.StatusUnprocessableEntity, page)
	}
	shown, kept, err := g.newRecovery()
	if err != nil {
		return err
	}
	v.Account.Factor, v.Account.FactorStep, v.Account.Recovery = next.Factor, next.FactorStep, kept
	if err := g.alone(r, v, "set up a second factor"); err != nil {
		return err
	}
	return g.account(w, r, v, http.StatusOK, accountPage{Recovery: shown, Done: "The second factor is set up. From now on you sign in with the password and a code."})
}

// renewRecovery makes new recovery codes in the place of the old ones.
func (g *Guard) renewRecovery(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	if v.Account.Factor == "" {
		return session.ErrNotFound
	}
	if !g.second(&v.Account, r.PostFormValue("current"), []attempt{{}}) {
		return g.account(w, r, v, http.StatusUnprocessableEntity, accountPage{Problem: "The code is not right."})
	}
	shown, kept, err := g.newRecovery()
	if err != nil {
		return err
	}
	v.Account.Recovery = kept
	if err := g.store(r, v, "made new recovery codes"); err != nil {
		return err
	}
	return g.account(w, r, v, http.StatusOK, accountPage{Recovery: shown, Done: "The old codes no longer work."})
}

// endSignIn signs another browser of the visitor out, or all others.
func (g *Guard) endSignIn(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	which := session.AccountID(r.PostFormValue("id"))
	mine, err := g.signInsOf(r.Context(), v.Account.ID)
	if err != nil {
		return err
	}
	mine = slices.DeleteFunc(mine, func(a session.Account) bool { return a.ID == v.SignIn || which != "" && a.ID != which })
	if err := g.Log(r.Context(), v, "signed other browsers out", "", mine...); err != nil {
		return err
	}
	http.Redirect(w, r, accountPath, http.StatusSeeOther)
	return nil
}

// alone stores the visitor's changed account, and signs out all their browsers but
// this one.
func (reg *Register) alone(r *http.Request, v *Visitor, did string, more ...session.Account) error {
	others, err := reg.signInsOf(r.Context(), v.Account.ID)
	if err != nil {
		return err
	}
	others = slices.DeleteFunc(others, func(a session.Account) bool { return a.ID == v.SignIn })
	return reg.store(r, v, did, append(others, more...)...)
}

// store stores the visitor's changed account, with other changes.
func (reg *Register) store(r *http.Request, v *Visitor, did string, more ...session.Account) error {
	return reg.Log(r.Context(), v, did, string(v.Account.ID), append(more, v.Account)...)
}
