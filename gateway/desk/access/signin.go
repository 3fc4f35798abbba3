package access

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"threshline/session"
)

// signInPath is where one signs in.
const signInPath = "/desk/sign-in"

// signInForm is what the sign-in page shows.
type signInForm struct {
	Name, Next, Problem string
	// First says that nobody has an account yet.
	First bool
}

// showSignIn is the sign-in page.
func (g *Guard) showSignIn(w http.ResponseWriter, r *http.Request) {
	form := signInForm{Next: ownPath(r.FormValue("next"))}
	people, err := g.people(r.Context())
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	form.First = len(people) == 0
	g.cfg.House.Show(w, r, http.StatusOK, nil, "signin", "Sign in", form)
}

// signIn lets a person in who knows the password. Whether the name is wrong or
// the password is not told, nor can it be told from how long the answer takes.
func (g *Guard) signIn(w http.ResponseWriter, r *http.Request) {
	form := signInForm{Name: strings.TrimSpace(r.PostFormValue("name")), Next: ownPath(r.PostFormValue("next"))}
	password := r.PostFormValue("password")
	now := g.cfg.Now()
	key := strings.ToLower(form.Name)
	if len(key) > longestName || len(password) > longestPassword {
		form.Name, key, password = "", "", ""
	}
	tries, err := g.tries(r, key)
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if wait := g.throttle.wait(now, tries...); wait > 0 {
		w.Header().Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
		form.Problem = "Too many wrong passwords came from where you are. Wait " + roughly(wait) + ", then try again."
		g.cfg.House.Show(w, r, http.StatusTooManyRequests, nil, "signin", "Sign in", form)
		return
	}
	account, err := g.recognise(r, key, password)
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if account == nil {
		g.throttle.fail(now, tries...)
		g.cfg.Log.Warn().Stringer("network", network(g.cfg.Address(r))).Msg("desk: a sign-in was refused")
		form.Problem = "This name and password do not go together."
		g.cfg.House.Show(w, r, http.StatusUnauthorized, nil, "signin", "Sign in", form)
		return
	}
	g.throttle.succeed(tries...)
	if err := g.open(w, r, account, "signed in"); err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, form.Next, http.StatusSeeOther)
}

// nobody is a hash that no password has; it costs as much to look at as a real
// one, so that an unknown name cannot be told by time.
func (g *Guard) nobody() string {
	return "$argon2id$v=19$m=" + strconv.Itoa(int(g.cfg.Cost.Memory)) + ",t=" + strconv.Itoa(int(g.cfg.Cost.Passes)) +
		",p=" + strconv.Itoa(int(g.cfg.Cost.Threads)) + "$c29tZSByYW5kb20gc2FsdA$bm8gcGFzc3dvcmQgaGFzIHRoaXMga2V5LCBub3Qgb25l"
}

// recognise finds the person of a name and password; nil when they do not go
// together.
func (g *Guard) recognise(r *http.Request, name, password string) (*session.Account, error) {
	account, err := g.usable(r.Context(), personID(name))
	if err != nil {
		return nil, err
	}
	stored := g.nobody()
	if account != nil {
		stored = account.Secret
	}
	release, err := g.slot(r.Context())
	if err != nil {
		return nil, err
	}
	defer release()
	ok, err := matches(stored, password)
	if err != nil || !ok {
		return nil, err
	}
	return account, nil
}

// open signs a browser in, and lets go of sign-ins that are over.
func (g *Guard) open(w http.ResponseWriter, r *http.Request, account *session.Account, did string) error {
	secret, err := g.newSecret()
	if err != nil {
		return err
	}
	now := g.cfg.Now()
	stale, err := g.stale(r.Context(), now)
	if err != nil {
		return err
	}
	in := session.Account{
		ID: signInID(secret), Kind: session.DeskSignIn, Of: account.ID, Made: now, Expires: now.Add(signInFor),
	}
	v := &Visitor{Account: *account}
	err = g.apply(r.Context(), session.Writes{Accounts: append(stale, in), Notes: []session.AuditNote{g.note(v, did, "")}})
	if errors.Is(err, session.ErrConflict) { // another sign-in let the same ones go
		err = g.apply(r.Context(), session.Writes{Accounts: []session.Account{in}, Notes: []session.AuditNote{g.note(v, did, "")}})
	}
	if err != nil {
		return err
	}
	g.setCookie(w, r, secret)
	return g.remember(w, r, account)
}

// signOut ends this browser's sign-in.
func (g *Guard) signOut(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	in, err := g.cfg.Book.Account(r.Context(), v.SignIn)
	if err == nil {
		in.Remove = true
		err = g.apply(r.Context(), session.Writes{Accounts: []session.Account{in}, Notes: []session.AuditNote{g.note(v, "signed out", "")}})
	}
	if err != nil && !errors.Is(err, session.ErrNotFound) && !errors.Is(err, session.ErrConflict) {
		return err
	}
	g.setCookie(w, r, "")
	http.Redirect(w, r, "/desk/sign-in", http.StatusSeeOther)
	return nil
}

// ownPath is where to go on after signing in: a page of the desk, never
// another site.
func ownPath(next string) string {
	if !strings.HasPrefix(next, home) || strings.ContainsAny(next, "\\\r\n") {
		return home
	}
	return next
}

// roughly is a duration in words, rounded up.
func roughly(d time.Duration) string {
	if d <= time.Minute {
		return strconv.Itoa(max(1, int((d+time.Second-1)/time.Second))) + " seconds"
	}
	return strconv.Itoa(int((d+time.Minute-1)/time.Minute)) + " minutes"
}
