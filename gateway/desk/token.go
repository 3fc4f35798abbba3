package desk

import (
	"context"
	"crypto/subtle"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"threshline/session"
)

// What a token may do.
const (
	scopeExport     = "export"     // take the checks away, without who they are
	scopeIdentified = "identified" // also names and numbers, in export and roster
	scopeRoster     = "roster"     // read and bring in people
	scopeBackup     = "backup"     // copy the whole store
	scopeTokens     = "tokens"     // make and revoke tokens
)

type scopeOption struct{ Scope, Said string }

// scopes are what a token may do, in words.
var scopes = []scopeOption{
	{scopeExport, "take the checks away, without who they are"},
	{scopeIdentified, "names and numbers too, in exports and the roster"},
	{scopeRoster, "read and bring in people"},
	{scopeBackup, "copy the whole store, with everything in it"},
	{scopeTokens, "make and revoke tokens"},
}

// tokenMark begins every token, so that one that leaked is recognised for what
// it is. After it stand the token's own id and its secret.
const tokenMark = "threshline-"

// tokenWish is a token as somebody asks for it.
type tokenWish struct {
	Name      string   `json:"name"`
	Scopes    []string `json:"scopes"`
	Districts []string `json:"districts,omitempty"`
	Days      int      `json:"days"`
}

// longestToken is for how many days a token can be good. Source: assumed,
// [ASSUMED-DESK].
const longestToken = 366

func tokenDays(s string) (int, bool) {
	n, err := strconv.Atoi(s)
	return n, err == nil && n >= 1 && n <= longestToken
}

// newToken makes a token; the whole of it is known only to the caller. The
// error is an *inputError for a wish that cannot be.
func (d *Desk) newToken(ctx context.Context, v *visitor, wish tokenWish) (session.Account, string, error) {
	name := strings.TrimSpace(wish.Name)
	switch {
	case name == "" || len(name) > 60:
		return session.Account{}, "", &inputError{"A token needs a name of at most 60 letters that says what it is for."}
	case len(wish.Scopes) == 0:
		return session.Account{}, "", &inputError{"Choose what the token may do."}
	case wish.Days < 1 || wish.Days > longestToken:
		return session.Account{}, "", &inputError{"A token is good for 1 to 366 days."}
	}
	for _, s := range wish.Scopes {
		if !slices.ContainsFunc(scopes, func(o scopeOption) bool { return o.Scope == s }) {
			return session.Account{}, "", &inputError{"There is no scope " + strconv.Quote(s) + "."}
		}
		if v.account.Kind == session.DeskToken && !slices.Contains(v.account.Scopes, s) {
			return session.Account{}, "", &inputError{"A token cannot give a scope that it has not: " + s + "."}
		}
	}
	if slices.Contains(wish.Scopes, scopeBackup) && len(wish.Districts)+len(v.account.Districts) > 0 {
		return session.Account{}, "", &inputError{"A copy of the store holds all districts: a token for some cannot have it."}
	}
	for _, name := range wish.Districts {
		if !v.sees(name) {
			return session.Account{}, "", &inputError{"District " + strconv.Quote(name) + " is not yours to give."}
		}
	}
	if len(wish.Districts) == 0 {
		wish.Districts = slices.Clone(v.account.Districts)
	}
	secret, err := d.newSecret()
	if err != nil {
		return session.Account{}, "", err
	}
	id, err := d.newSecret()
	if err != nil {
		return session.Account{}, "", err
	}
	id = digest(id)[:12]
	now := d.cfg.Now()
	slices.Sort(wish.Scopes)
	a := session.Account{
		ID: session.AccountID("token/" + id), Kind: session.DeskToken, Name: name, Role: session.DeskViewer, Districts: wish.Districts,
		Scopes: slices.Compact(wish.Scopes), Secret: digest(secret), Of: v.account.ID, Made: now, Expires: now.AddDate(0, 0, wish.Days),
	}
	if slices.Contains(a.Scopes, scopeIdentified) {
		a.Role = session.DeskCoordinator
	}
	err = d.apply(ctx, session.Writes{
		Accounts: []session.Account{a}, Notes: []session.AuditNote{d.note(v, "made a token for "+list(a.Scopes), string(a.ID)+" "+name)},
	})
	return a, tokenMark + id + "-" + secret, err
}

// bearer finds the token that a request carries; nil when there is none that
// lets in.
func (d *Desk) bearer(r *http.Request) (*visitor, error) {
	text, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "+tokenMark)
	if !ok {
		return nil, nil
	}
	id, secret, ok := strings.Cut(text, "-")
	if !ok || len(id) > 32 {
		return nil, nil
	}
	a, err := d.usable(r.Context(), session.AccountID("token/"+id))
	if a == nil || a.Kind != session.DeskToken {
		return nil, err
	}
	if subtle.ConstantTimeCompare([]byte(digest(secret)), []byte(a.Secret)) != 1 {
		return nil, nil
	}
	return &visitor{account: *a}, nil
}

// allowed lets in a token with the scope. A good one always comes in, however many
// wrong ones came from its address: nobody shuts another's program out.
func (d *Desk) allowed(scope string, next handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		from, now := d.cfg.Address(r), d.cfg.Now()
		v, err := d.bearer(r)
		wait := d.guesses.wait(now, attempt{from: network(from)})
		switch {
		case err != nil:
			d.fail(w, r, err)
		case v == nil && wait > 0:
			w.Header().Set("Retry-After", strconv.Itoa(int(wait/time.Second)+1))
			answerError(w, http.StatusTooManyRequests, "too many wrong tokens came from this address")
		case v == nil:
			d.guesses.fail(now, attempt{from: network(from)})
			d.cfg.Log.Warn().Stringer("network", network(from)).Msg("desk: a token was refused")
			w.Header().Set("WWW-Authenticate", `Bearer realm="threshline"`)
			answerError(w, http.StatusUnauthorized, "the Authorization header holds no token that is in use")
		case !slices.Contains(v.account.Scopes, scope):
			answerError(w, http.StatusForbidden, "the token has no scope "+scope)
		default:
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
