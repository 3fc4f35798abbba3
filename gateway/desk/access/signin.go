package access

import (
	"errors"
	"fmt"
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

// signIn lets a person in who knows the password, and the code where there is a
// second factor. Whether the name is wrong, the password or the code is not told, nor can it be told from how long the answer takes.
func (g *Guard) signIn(w http.ResponseWriter, r *http.Request) {
	form := signInForm{Name: strings.TrimSpace(r.PostFormValue("name")), Next: ownPath(r.PostFormValue("next"))}
	password, code := r.PostFormValue("password"), r.PostFormValue("code")
	now := g.now()
	key := strings.ToLower(form.Name)
	if len(key) > longestName || len(password) > longestPassword {
		form.Name, key, password, code = "", "", "", ""
	}
	tries, err := g.tries(r, key)
	if err != nil {
		g.cfg.House.Fail(w, r, err)
		return
	}
	if wait := g.throttle.begin(now, tries...); wait > 0 {
		g.cfg.Count(byPassword, slowed)
		w.Header().Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
		form.Problem = "Too many wrong passwords came from where you are. Wait " + roughly(wait) + ", then try again."
		g.cfg.House.Show(w, r, http.StatusTooManyRequests, nil, "signin", "Sign in", form)
		return
	}
	found, err := g.recognise(r, key, password, code, tries)
	switch {
	case errors.Is(err, errLine):
		g.throttle.undo(tries...)
		g.cfg.Count(byPassword, crowded)
		w.Header().Set("Retry-After", "10")
		form.Problem = crowdedText
		g.cfg.House.Show(w, r, http.StatusTooManyRequests, nil, "signin", "Sign in", form)
	case err != nil:
		g.throttle.undo(tries...)
		g.cfg.House.Fail(w, r, err)
	case found == nil:
		g.cfg.Count(byPassword, refused)
		g.cfg.Log.Warn().Stringer("network", network(g.cfg.Address(r))).Msg("desk: a sign-in was refused")
		form.Problem = "The name, the password or the code is not right."
		g.cfg.House.Show(w, r, http.StatusUnauthorized, nil, "signin", "Sign in", form)
	default:
		g.throttle.succeed(tries...)
		if err := g.open(w, r, found.account, found.did, found.changed); err != nil {
			g.cfg.House.Fail(w, r, err)
			return
		}
		g.cfg.Count(byPassword, cameIn)
		http.Redirect(w, r, form.Next, http.StatusSeeOther)
	}
}

// crowdedText is shown when too many sign-ins are waiting.
const crowdedText = "Many people sign in just now. Try again in some seconds."

// byPassword is a way to sign in, for the count.
const byPassword = "password"

// nobody is a hash that no password has. To check it takes as long as a real
// one, so that the time does not show that a name is unknown.
func (g *Guard) nobody() string {
	return "$argon2id$v=19$m=" + strconv.Itoa(int(g.cfg.Cost.Memory)) + ",t=" + strconv.Itoa(int(g.cfg.Cost.Passes)) +
		",p=" + strconv.Itoa(int(g.cfg.Cost.Threads)) + "$c29tZSByYW5kb20gc2FsdA$bm8gcGFzc3dvcmQgaGFzIHRoaXMga2V5LCBub3Qgb25l"
}

// recognised is somebody whose password, and code, were right.
type recognised struct {
	account *session.Account
	did     string // how they came in, for the audit log
	changed bool   // the account is to be stored: a code is used up, or a hash new
}

// recognise finds the person of a name, a password and, where they have one, a
// second factor; nil when they do not go together.
func (g *Guard) recognise(r *http.Request, name, password, code string, tries []attempt) (*recognised, error) {
	account, err := g.usable(r.Context(), personID(name))
	if err != nil {
		return nil, err
	}
	stored := g.nobody()
	if account != nil {
		stored = account.Secret
	}
	leave, err := g.line.enter(r.Context(), inLine(tries))
	if err != nil {
		return nil, err
	}
	defer leave()
	ok, cost, err := matches(stored, password)
	if err != nil || !ok || account == nil {
		return nil, err
	}
	found := &recognised{account: account, did: "signed in"}
	codes := len(account.Recovery)
	if !g.second(account, code, tries) {
		return nil, g.Log(r.Context(), &Visitor{Account: *account}, "gave the right password and no right code", "")
	}
	if found.changed = account.Factor != ""; len(account.Recovery) < codes {
		found.did = fmt.Sprintf("signed in by a recovery code, of which %d are left", len(account.Recovery))
	}
	if cost != g.cfg.Cost {
		account.Secret, err = g.cfg.Cost.hash(password, g.entropy)
		found.changed = true
	}
	return found, err
}

// inLine says who waits in the line for an attempt: a browser, or an address.
func inLine(tries []attempt) attempt {
	return attempt{from: tries[0].from, browser: tries[0].browser}
}

// open signs a browser in, and lets go of sign-ins that are over. The account is
// stored with it where it was changed.
func (g *Guard) open(w http.ResponseWriter, r *http.Request, account *session.Account, did string, changed bool) error {
	secret, err := g.newSecret()
	if err != nil {
		return err
	}
	now := g.now()
	in := session.Account{
		ID: signInID(secret), Kind: session.DeskSignIn, Of: account.ID, Made: now, Expires: until(now, now), Name: network(g.cfg.Address(r)).Addr().String(),
	}
	err = g.again(func() error { // another sign-in may let the same ones go
		writes, err := g.stale(r.Context(), now)
		if err != nil {
			return err
		}
		if writes = append(writes, in); changed {
			writes = append(writes, *account)
		}
		return g.Log(r.Context(), &Visitor{Account: *account}, did, "", writes...)
	})
	if err != nil {
		return err
	}
	g.setCookie(w, r, secret)
	return g.remember(w, r, account)
}

// signOut ends this browser's sign-in.
func (g *Guard) signOut(w http.ResponseWriter, r *http.Request, v *Visitor) error {
	in, err := g.book.Account(r.Context(), v.SignIn)
	if err == nil {
		in.Remove = true
		err = g.apply(r.Context(), session.Writes{Accounts: []session.Account{in}, Notes: []session.AuditNote{g.Note(v, "signed out", "")}})
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
