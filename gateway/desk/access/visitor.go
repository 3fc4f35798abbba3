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
	"net/netip"
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

// Known reports whether there is such a role.
func Known(r session.DeskRole) bool { return rank(r) > 0 }

// May reports whether the visitor may do what a role may.
func (v *Visitor) May(role session.DeskRole) bool {
	return v != nil && rank(v.Account.Role) >= rank(role)
}

// Knows reports whether the visitor may see the personal data of somebody of a
// district.
func (v *Visitor) Knows(district string) bool {
	return v.May(session.DeskCoordinator) && v.Sees(district)
}

// Sees reports whether the visitor may see the checks of a district.
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

// How long a browser stays signed in, and how long while nobody does anything; and
// how exactly the last is written down. Source: assumed, [ASSUMED-DESK].
const (
	signInFor = 12 * time.Hour
	idleFor   = time.Hour
	seenEvery = 5 * time.Minute
)

// until is when a sign-in is over if nothing more is done.
func until(made, now time.Time) time.Time {
	if end := made.Add(signInFor); end.Before(now.Add(idleFor)) {
		return end
	}
	return now.Add(idleFor)
}

// cookieName is the name of the cookie that lets somebody in.
const cookieName = "threshline_desk"

// secretSize is how many random bytes a cookie, link or token holds.
const secretSize = 32

// newSecret draws the random part of a cookie, link or token.
func (reg *Register) newSecret() (string, error) {
	b := make([]byte, secretSize)
	if _, err := io.ReadFull(reg.entropy, b); err != nil {
		return "", fmt.Errorf("desk: no random bits: %w", err)
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// digest is the hash by which one of our secrets is recognised. The secret is
// random and long, so that one pass of a plain hash is enough.
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
	g.keep(r.Context(), in)
	return &Visitor{Account: *account, SignIn: in.ID}, nil
}

// keep notes that a sign-in is in use. A page is shown all the same where that
// cannot be stored.
func (g *Guard) keep(ctx context.Context, in *session.Account) {
	end := until(in.Made, g.now())
	if end.Sub(in.Expires).Abs() < seenEvery {
		return
	}
	in.Expires = end
	if err := g.apply(ctx, session.Writes{Accounts: []session.Account{*in}}); err != nil && !errors.Is(err, session.ErrConflict) {
		g.cfg.Log.Warn().Err(err).Msg("desk: cannot note that a sign-in is in use")
	}
}

// usable finds an account that lets somebody in just now; nil when there is none.
func (reg *Register) usable(ctx context.Context, id session.AccountID) (*session.Account, error) {
	a, err := reg.book.Account(ctx, id)
	switch {
	case errors.Is(err, session.ErrNotFound):
		return nil, nil
	case err != nil:
		return nil, err
	case !a.Usable(reg.now()):
		return nil, nil
	}
	return &a, nil
}

// Handler answers a request of a signed-in visitor.
type Handler func(w http.ResponseWriter, r *http.Request, v *Visitor) error

// Enter lets in who is signed in and has the role, and sends others away; an
// administrator without a second factor goes and sets one up first.
func (g *Guard) Enter(role session.DeskRole, next Handler) http.Handler {
	return g.admit(func(w http.ResponseWriter, r *http.Request, v *Visitor) error {
		switch lacks := g.LacksFactor(v); {
		case lacks && r.Method == http.MethodGet:
			http.Redirect(w, r, accountPath, http.StatusSeeOther)
		case lacks:
			g.cfg.House.Refuse(w, r, http.StatusForbidden, "An administrator needs a second factor. Set it up under Your account first.")
		case !v.May(role):
			g.cfg.House.Refuse(w, r, http.StatusForbidden, "Your role does not allow this page. An administrator can change roles.")
		default:
			return next(w, r, v)
		}
		return nil
	})
}

// admit lets in who is signed in.
func (g *Guard) admit(next Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v, err := g.visitor(r)
		switch {
		case err != nil:
			g.cfg.House.Fail(w, r, err)
		case v == nil && r.Method == http.MethodGet:
			http.Redirect(w, r, "/desk/sign-in?next="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		case v == nil:
			g.cfg.House.Refuse(w, r, http.StatusUnauthorized, "You are not signed in any more, so nothing was changed. Sign in and do it again.")
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

// peer is the address at the other end of the connection.
func peer(r *http.Request) netip.Addr {
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return a.Addr().Unmap()
}

// Behind makes a Config.Address for a desk behind so many proxies of ours,
// each of which adds to X-Forwarded-For who it was called by. What stands
// further left anybody can have written. A request that did not come through
// them counts as from its own connection. Without it all visitors of a proxy
// would have one address, and whoever guesses passwords would slow down all.
func Behind(proxies int) func(*http.Request) netip.Addr {
	return func(r *http.Request) netip.Addr {
		hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if proxies <= 0 || len(hops) < proxies {
			return peer(r)
		}
		hop := strings.TrimSpace(hops[len(hops)-proxies])
		if withPort, err := netip.ParseAddrPort(hop); err == nil {
			return withPort.Addr().Unmap()
		}
		if a, err := netip.ParseAddr(hop); err == nil {
			return a.Unmap()
		}
		return peer(r)
	}
}
