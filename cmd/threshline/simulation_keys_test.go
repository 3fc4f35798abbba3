package main

import (
	"context"
	"net/http"
	"net/http/httptest"
	"time"

	"threshline/gateway/desk/access"
	"threshline/session"
)

// simKeys are tokens of the desk's interface for programs, and what must become
// of them: each ends by itself, by being revoked, or with what made it.
type simKeys struct {
	all    []*simKey
	admins []*simAdmin
}

type simKey struct {
	id      string
	secret  string
	of      *simKey   // that made it
	admin   *simAdmin // likewise; neither: made at the machine
	expires time.Time
	ended   bool
}

// good reports whether the token must let in.
func (k *simKey) good(now time.Time) bool {
	return !k.ended && now.Before(k.expires) && (k.of == nil || k.of.good(now)) && (k.admin == nil || !k.admin.ended)
}

// turn makes a token, or ends one.
func (t *simKeys) turn(s *simulation) {
	ctx, guard := context.Background(), s.station.front.Guard()
	if s.chance(3) {
		t.administer(s)
		return
	}
	if len(t.all) > 1 && s.chance(3) {
		k := t.all[s.random.IntN(len(t.all))]
		if _, err := guard.Revoke(ctx, access.Machine, k.id); err != nil {
			s.wrong(ruleRest, "revoke a token: %w", err)
		}
		s.note("a token is ended")
		s.happened.add("token ended")
		k.ended = true
		return
	}
	by, k := access.Machine, &simKey{}
	if len(t.all) > 0 && s.chance(2) {
		if maker := t.all[s.random.IntN(len(t.all))]; maker.good(time.Now()) {
			account, err := s.station.store.Account(ctx, session.AccountID("token/"+maker.id))
			if err != nil {
				s.wrong(ruleRest, "a token's record: %w", err)
				return
			}
			by, k.of = &access.Visitor{Account: account}, maker
		}
	}
	t.make(s, by, k)
}

// make has a token made.
func (t *simKeys) make(s *simulation, by *access.Visitor, k *simKey) {
	account, secret, err := s.station.front.Guard().NewToken(context.Background(), by, access.Wish{Name: "simulated", Scopes: []string{access.ScopeExport, access.ScopeTokens}, Days: 1 + s.random.IntN(30), AllDistricts: true})
	if err != nil {
		s.wrong(ruleRest, "make a token: %w", err)
		return
	}
	k.id, k.secret, k.expires = string(account.ID)[len("token/"):], secret, account.Expires
	t.all = append(t.all, k)
	s.note("token made")
}

// look holds that a token opens what it may, and no longer.
func (t *simKeys) look(s *simulation) {
	for _, k := range t.all {
		k.look(s, "none") // of which only who was let in is told that there is no such format
	}
	t.lookAtAdmins(s)
}

// lookAtExports holds it by whole exports.
func (t *simKeys) lookAtExports(s *simulation) {
	for _, k := range t.all {
		k.look(s, "csv")
	}
}

func (k *simKey) look(s *simulation, format string) {
	r := httptest.NewRequest(http.MethodGet, "/admin/v1/export?format="+format, nil)
	r.Header.Set("Authorization", "Bearer "+k.secret)
	w := httptest.NewRecorder()
	s.station.gateway.ServeHTTP(w, r)
	code := map[string]int{"csv": http.StatusOK, "none": http.StatusBadRequest}[format]
	if in, want := w.Code == code, k.good(time.Now()); in != want {
		s.wrong(ruleEnded, "a token that is good %v is answered %d", want, w.Code)
	}
}
