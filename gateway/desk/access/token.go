package access

import (
	"context"
	"crypto/subtle"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshline/gateway/desk/paper"
	"threshline/session"
)

// What a token may do.
const (
	ScopeExport     = "export"     // export checks, without who they are
	ScopeIdentified = "identified" // also names and numbers, in export and roster
	ScopeRoster     = "roster"     // read and bring in people
	ScopeBackup     = "backup"     // copy the whole store
	ScopeUpkeep     = "upkeep"     // write over what was removed, confirm the clock
	ScopeTokens     = "tokens"     // make and revoke tokens
)

// ScopeOption is a scope in words.
type ScopeOption struct{ Scope, Said string }

// Scopes are what a token may do, in words.
var Scopes = []ScopeOption{
	{ScopeExport, "export checks, without who they are"},
	{ScopeIdentified, "names and numbers too, in exports and the roster"},
	{ScopeRoster, "read and bring in people"},
	{ScopeBackup, "copy the whole store, with everything in it"},
	{ScopeUpkeep, "write over what was removed from the store, and confirm the clock"},
	{ScopeTokens, "make and revoke tokens"},
}

// tokenMark begins every token, so that one that leaked is recognised for what
// it is. After it stand the token's own id and its secret.
const tokenMark = "threshline-"

// Wish is a request for a token.
type Wish struct {
	Name      string   `json:"name"`
	Scopes    []string `json:"scopes"`
	Districts []string `json:"districts,omitempty"`
	// AllDistricts must be set when no districts are named: a token is for all
	// districts only if somebody chose that.
	AllDistricts bool `json:"all_districts,omitempty"`
	Days         int  `json:"days"`
}

// longestToken is for how many days a token can be good. Source: assumed,
// [ASSUMED-DESK].
const longestToken = 366

// TokenDays reads for how many days a token is valid.
func TokenDays(s string) (int, bool) {
	n, err := strconv.Atoi(s)
	return n, err == nil && n >= 1 && n <= longestToken
}

// NewToken makes a token, good for no longer than what makes it; the whole of it
// is known only to the caller. The error is a *paper.InputError for a wish that
// cannot be.
func (reg *Register) NewToken(ctx context.Context, v *Visitor, wish Wish) (session.Account, string, error) {
	name := strings.TrimSpace(wish.Name)
	switch {
	case name == "" || len(name) > 60:
		return session.Account{}, "", paper.Wrong("A token needs a name of at most 60 letters that says what it is for.")
	case len(wish.Scopes) == 0:
		return session.Account{}, "", paper.Wrong("Choose what the token may do.")
	case wish.Days < 1 || wish.Days > longestToken:
		return session.Account{}, "", paper.Wrong("A token is good for 1 to 366 days.")
	}
	for _, s := range wish.Scopes {
		if !slices.ContainsFunc(Scopes, func(o ScopeOption) bool { return o.Scope == s }) {
			return session.Account{}, "", paper.Wrong("There is no scope " + strconv.Quote(s) + ".")
		}
		if v.Account.Kind == session.DeskToken && !slices.Contains(v.Account.Scopes, s) {
			return session.Account{}, "", paper.Wrong("A token cannot give a scope that it does not have: " + s + ".")
		}
	}
	if slices.Contains(wish.Scopes, ScopeBackup) && len(wish.Districts)+len(v.Account.Districts) > 0 {
		return session.Account{}, "", paper.Wrong("A copy of the store holds all districts: a token for some cannot have it.")
	}
	switch {
	case wish.AllDistricts == (len(wish.Districts) > 0):
		return session.Account{}, "", paper.Wrong("Say which districts the token is for, or that it is for all of them.")
	case wish.AllDistricts && len(v.Account.Districts) > 0:
		return session.Account{}, "", paper.Wrong("You cannot give all districts.")
	}
	for _, name := range wish.Districts {
		if !v.Sees(name) {
			return session.Account{}, "", paper.Wrong("District " + strconv.Quote(name) + " is not yours to give.")
		}
	}
	secret, err := reg.newSecret()
	if err != nil {
		return session.Account{}, "", err
	}
	id, err := reg.newSecret()
	if err != nil {
		return session.Account{}, "", err
	}
	id = digest(id)[:12]
	now := reg.now()
	expires := now.AddDate(0, 0, wish.Days)
	if end := v.Account.Expires; !end.IsZero() && end.Before(expires) {
		expires = end // of a token that makes another
	}
	slices.Sort(wish.Scopes)
	a := session.Account{
		ID: session.AccountID("token/" + id), Kind: session.DeskToken, Name: name, Role: session.DeskViewer, Districts: wish.Districts,
		Scopes: slices.Compact(wish.Scopes), Secret: digest(secret), Of: v.Account.ID, Made: now, Expires: expires,
	}
	if slices.Contains(a.Scopes, ScopeIdentified) {
		a.Role = session.DeskCoordinator
	}
	err = reg.Log(ctx, v, "made a token for "+paper.List(a.Scopes), string(a.ID)+" "+name, a)
	return a, tokenMark + id + "-" + secret, err
}

// byToken is a way to sign in, for the count.
const byToken = "token"

// bearer finds the token that a request carries; nil when there is none that
// lets in.
func (reg *Register) bearer(r *http.Request) (*Visitor, error) {
	text, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "+tokenMark)
	if !ok {
		return nil, nil
	}
	id, secret, ok := strings.Cut(text, "-")
	if !ok || len(id) > 32 {
		return nil, nil
	}
	a, err := reg.usable(r.Context(), session.AccountID("token/"+id))
	if a == nil || a.Kind != session.DeskToken {
		return nil, err
	}
	if subtle.ConstantTimeCompare([]byte(digest(secret)), []byte(a.Secret)) != 1 {
		return nil, nil
	}
	if ok, err := reg.stands(r.Context(), a); !ok {
		return nil, err
	}
	return &Visitor{Account: *a}, nil
}

// Allowed lets in a token with the scope. A good one always comes in, however many
// wrong ones came from its address: nobody shuts another's program out.
func (g *Guard) Allowed(scope string, next Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		from, now := g.cfg.Address(r), g.now()
		v, err := g.bearer(r)
		wait := g.guesses.wait(now, attempt{from: network(from)})
		switch {
		case err != nil:
			g.cfg.House.Fail(w, r, err)
		case v == nil && wait > 0:
			g.cfg.Count(byToken, slowed)
			w.Header().Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
			g.cfg.House.Refuse(w, r, http.StatusTooManyRequests, "too many wrong tokens came from this address")
		case v == nil:
			g.guesses.fail(now, attempt{from: network(from)})
			g.cfg.Count(byToken, refused)
			g.cfg.Log.Warn().Stringer("network", network(from)).Msg("desk: a token was refused")
			w.Header().Set("WWW-Authenticate", `Bearer realm="threshline"`)
			g.cfg.House.Refuse(w, r, http.StatusUnauthorized, "the Authorization header holds no token that is in use")
		case !slices.Contains(v.Account.Scopes, scope):
			g.cfg.House.Refuse(w, r, http.StatusForbidden, "the token has no scope "+scope)
		default:
			g.cfg.Count(byToken, cameIn)
			if err := next(w, r, v); err != nil {
				g.cfg.House.Fail(w, r, err)
			}
		}
	})
}

// Covers reports whether a visitor's districts hold those of an account, so
// that they may see and end it.
func (v *Visitor) Covers(a *session.Account) bool {
	if len(a.Districts) == 0 {
		return len(v.Account.Districts) == 0
	}
	return !slices.ContainsFunc(a.Districts, func(name string) bool { return !v.Sees(name) })
}

// Tokens lists the tokens that a visitor may see.
func (reg *Register) Tokens(ctx context.Context, v *Visitor) ([]session.Account, error) {
	return reg.kept(ctx, func(a *session.Account) bool { return a.Kind == session.DeskToken && v.Covers(a) })
}

// Revoke ends a token, by what stands behind its mark. The error is
// session.ErrNotFound for one that is not the visitor's to end.
func (reg *Register) Revoke(ctx context.Context, v *Visitor, id string) (session.Account, error) {
	a, err := reg.book.Account(ctx, session.AccountID("token/"+id))
	if err == nil && !v.Covers(&a) {
		err = session.ErrNotFound
	}
	if err != nil || !a.Ended.IsZero() {
		return a, err
	}
	a.Ended = reg.now()
	return a, reg.withdraw(ctx, v, &a, "revoked a token", string(a.ID)+" "+a.Name)
}

// stands reports whether whoever made a token or a link may still do so. What
// an account made ends with it; this holds also for what was made in the same
// moment, or by a build that left it behind.
func (reg *Register) stands(ctx context.Context, a *session.Account) (bool, error) {
	for a.Of != "" {
		maker, err := reg.usable(ctx, a.Of)
		switch {
		case maker == nil:
			return false, err
		case maker.Kind == session.DeskPerson:
			return maker.Role == session.DeskAdministrator, nil
		case maker.Kind != session.DeskToken || !slices.Contains(maker.Scopes, ScopeTokens):
			return false, nil
		}
		a = maker
	}
	return true, nil
}
