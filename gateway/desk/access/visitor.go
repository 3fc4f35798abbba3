package access

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

// Visitor is who a request comes from.
type Visitor struct {
	Account session.Account
	SignIn  session.AccountID // empty for a token
}

// rank orders the roles; an unknown one may do nothing.
func rank(r session.DeskRole) int {
	return slices.Index([]session.DeskRole{session.DeskViewer, session.DeskCoordinator, session.DeskAdministrator}, r) + 1
}

// Known tells whether there is such a role.
func Known(r session.DeskRole) bool { return rank(r) > 0 }

// May tells whether the visitor may do what a role may.
func (v *Visitor) May(role session.DeskRole) bool {
	return v != nil && rank(v.Account.Role) >= rank(role)
}

// Knows tells whether the visitor may see the personal data of somebody of a
// district.
func (v *Visitor) Knows(district string) bool {
	return v.May(session.DeskCoordinator) && v.Sees(district)
}

// Sees tells whether the visitor may see the checks of a district.
func (v *Visitor) Sees(district string) bool {
	return len(v.Account.Districts) == 0 || slices.Contains(v.Account.Districts, district)
}

// Who names the visitor in the audit log.
func (v *Visitor) Who() string {
	if v.Account.Kind == session.DeskToken {
		return "token " + v.Account.Name
	}
	return string(v.Account.Role) + " " + v.Account.Name
}

// signInFor is how long a browser stays signed in. Source: assumed, [ASSUMED-DESK].
const signInFor = 12 * time.Hour

// cookieName is the name of the cookie that lets somebody in.
const cookieName = "threshline_desk"

// secretSize is how many random bytes a cookie, link or token holds.
const secretSize = 32

// newSecret draws the random part of a cookie, link or token.
func (g *Guard) newSecret() (string, error) {
	b := make([]byte, secretSize)
	if _, err := io.ReadFull(g.cfg.Entropy, b); err != nil {
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
func (g *Guard) visitor(r *http.Request) (*Visitor, error) {
	cookie, err := r.Cookie(cookieName)
	if err != nil || cookie.Value == "" || len(cookie.Value) > 2*secretSize {
		return nil, nil
	}
	in, err := g.usable(r.Context(), signInID(cookie.Value))
	if in == nil {
		return nil, err
	}
	account, err := g.usable(r.Context(), in.Of)
	if account == nil || account.Kind != session.DeskPerson {
		return nil, err
	}
	return &Visitor{Account: *account, SignIn: in.ID}, nil
}

// usable finds an account that lets somebody in just now; nil when there is none.
func (g *Guard) usable(ctx context.Context, id session.AccountID) (*session.Account, error) {
	a, err := g.cfg.Book.Account(ctx, id)
	switch {
	case errors.Is(err, session.ErrNotFound):
		return nil, nil
	case err != nil:
		return nil, err
	case !a.Usable(g.cfg.Now()):
		return nil, nil
	}
	return &a, nil
}

// Handler answers a request of a signed-in visitor.
type Handler func(w http.ResponseWriter, r *http.Request, v *Visitor) error

// Enter lets in who is signed in and has the role, and sends others away.
func (g *Guard) Enter(role session.DeskRole, next Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, err := g.visitor(r)
		switch {
		case err != nil:
			g.cfg.House.Fail(w, r, err)
		case v == nil && r.Method == http.MethodGet:
			http.Redirect(w, r, "/desk/sign-in?next="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		case v == nil:
			g.cfg.House.Refuse(w, r, http.StatusUnauthorized, "You are not signed in any more, so nothing was changed. Sign in and do it again.")
		case !v.May(role):
			g.cfg.House.Refuse(w, r, http.StatusForbidden, "Your role does not allow this page. An administrator can change roles.")
		default:
			if err := next(w, r, v); err != nil {
				g.cfg.House.Fail(w, r, err)
			}
		}
	})
}

// setCookie gives the browser its secret, or takes it back when it is empty.
func (g *Guard) setCookie(w http.ResponseWriter, r *http.Request, secret string) {
	c := &http.Cookie{
		Name: cookieName, Value: secret, Path: "/desk/", HttpOnly: true, SameSite: http.SameSiteLaxMode,
		Secure: g.ByTLS(r), MaxAge: int(signInFor / time.Second),
	}
	if secret == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}
