package desk

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"threshline/session"
)

// visitor is who a request comes from.
type visitor struct {
	account session.Account
	signIn  session.AccountID // empty for a token
}

// rank orders the roles; an unknown one may do nothing.
func rank(r session.DeskRole) int {
	return slices.Index([]session.DeskRole{session.DeskViewer, session.DeskCoordinator, session.DeskAdministrator}, r) + 1
}

// may tells whether the visitor may do what a role may.
func (v *visitor) may(role session.DeskRole) bool {
	return v != nil && rank(v.account.Role) >= rank(role)
}

// knows tells whether the visitor may see the personal data of somebody of a
// district.
func (v *visitor) knows(district string) bool {
	return v.may(session.DeskCoordinator) && v.sees(district)
}

// sees tells whether the visitor may see the checks of a district.
func (v *visitor) sees(district string) bool {
	return len(v.account.Districts) == 0 || slices.Contains(v.account.Districts, district)
}

// who names the visitor in the audit log.
func (v *visitor) who() string {
	if v.account.Kind == session.DeskToken {
		return "token " + v.account.Name
	}
	return string(v.account.Role) + " " + v.account.Name
}

// signInFor is how long a browser stays signed in. Source: assumed, [ASSUMED-DESK].
const signInFor = 12 * time.Hour

// cookieName is the name of the cookie that lets somebody in.
const cookieName = "threshline_desk"

// secretSize is how many random bytes a cookie, link or token holds.
const secretSize = 32

// newSecret draws the random part of a cookie, link or token.
func (d *Desk) newSecret() (string, error) {
	b := make([]byte, secretSize)
	if _, err := io.ReadFull(d.cfg.Entropy, b); err != nil {
		return "", fmt.Errorf("desk: no random bits: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// digest is what a secret of ours is recognised by: it is random and long, so
// that one pass of a plain hash is enough.
func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

func signInID(secret string) session.AccountID { return session.AccountID("sign-in/" + digest(secret)) }
func linkID(secret string) session.AccountID   { return session.AccountID("link/" + digest(secret)) }
func personID(name string) session.AccountID {
	return session.AccountID("person/" + strings.ToLower(name))
}

// visitor finds who is signed in; nil when nobody is.
func (d *Desk) visitor(r *http.Request) (*visitor, error) {
	cookie, err := r.Cookie(cookieName)
	if err != nil || cookie.Value == "" || len(cookie.Value) > 2*secretSize {
		return nil, nil
	}
	in, err := d.usable(r.Context(), signInID(cookie.Value))
	if in == nil {
		return nil, err
	}
	account, err := d.usable(r.Context(), in.Of)
	if account == nil || account.Kind != session.DeskPerson {
		return nil, err
	}
	return &visitor{account: *account, signIn: in.ID}, nil
}

// usable finds an account that lets somebody in just now; nil when there is none.
func (d *Desk) usable(ctx context.Context, id session.AccountID) (*session.Account, error) {
	a, err := d.cfg.Accounts.Account(ctx, id)
	switch {
	case errors.Is(err, session.ErrNotFound):
		return nil, nil
	case err != nil:
		return nil, err
	case !a.Usable(d.cfg.Now()):
		return nil, nil
	}
	return &a, nil
}

// handler answers a request of a signed-in visitor.
type handler func(w http.ResponseWriter, r *http.Request, v *visitor) error

// enter lets in who is signed in and has the role, and sends others away.
func (d *Desk) enter(role session.DeskRole, next handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, err := d.visitor(r)
		switch {
		case err != nil:
			d.fail(w, r, err)
		case v == nil && r.Method == http.MethodGet:
			http.Redirect(w, r, "/desk/sign-in?next="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		case v == nil:
			d.refuse(w, r, http.StatusUnauthorized, "You are not signed in any more, so nothing was changed. Sign in and do it again.")
		case !v.may(role):
			d.refuse(w, r, http.StatusForbidden, "Your role does not allow this page. An administrator can change roles.")
		default:
			// A page over a million checks may take longer than a carrier may.
			_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(writeWithin))
			if err := d.fresh(r.Context()); err != nil {
				d.fail(w, r, err)
				return
			}
			if err := next(w, r, v); err != nil {
				d.fail(w, r, err)
			}
		}
	})
}

func (d *Desk) fresh(ctx context.Context) error {
	if d.cfg.Fresh == nil {
		return nil
	}
	return d.cfg.Fresh(ctx)
}

// setCookie gives the browser its secret, or takes it back when it is empty.
func (d *Desk) setCookie(w http.ResponseWriter, r *http.Request, secret string) {
	c := &http.Cookie{
		Name: cookieName, Value: secret, Path: "/desk/", HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: d.byTLS(r), MaxAge: int(signInFor / time.Second),
	}
	if secret == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// apply stores changes. The error may be session.ErrConflict.
func (d *Desk) apply(ctx context.Context, w session.Writes) error {
	_, err := d.cfg.Records.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) { return w, nil })
	return err
}

// note is an entry of the audit log.
func (d *Desk) note(v *visitor, did, subject string) session.AuditNote {
	return session.AuditNote{At: d.cfg.Now(), Who: v.who(), Did: did, Subject: subject}
}

// mostListed bounds how many sign-ins are remembered in listed.
const mostListed = 1000

// seenInFilter writes down whom the filter of a page names: somebody by whom it
// chooses each time, the agents in its list once for a sign-in, or that would be
// in the log for every page.
func (d *Desk) seenInFilter(ctx context.Context, v *visitor, c *chosen, f *filterForm) error {
	for _, id := range []session.PersonID{c.Agent, c.Grower} {
		if id != "" && d.nameOf(v, id) != string(id) {
			if err := d.seen(ctx, v, "the name of somebody in a filter", string(id)); err != nil {
				return err
			}
		}
	}
	if !f.named() {
		return nil
	}
	d.listing.Lock()
	known := d.listed[v.signIn]
	d.listing.Unlock()
	if known {
		return nil
	}
	if err := d.seen(ctx, v, "the names of agents to choose from", ""); err != nil {
		return err
	}
	d.listing.Lock()
	defer d.listing.Unlock()
	if len(d.listed) >= mostListed {
		clear(d.listed)
	}
	d.listed[v.signIn] = true
	return nil
}

// seen writes down that a visitor read personal data, before it is shown.
func (d *Desk) seen(ctx context.Context, v *visitor, what, subject string) error {
	return d.apply(ctx, session.Writes{Notes: []session.AuditNote{d.note(v, "read "+what, subject)}})
}
