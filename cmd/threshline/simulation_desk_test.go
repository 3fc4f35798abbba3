package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"time"

	"threshline/gateway/desk/access"
	"threshline/session"
)

// simAdmin is an administrator of the desk. They make tokens, and end each other by
// the desk's pages: then no browser of theirs gets in, and no token.
type simAdmin struct {
	id      session.AccountID
	cookies []string
	ended   bool
}

// signIn gives an administrator one more browser, as a password would.
func (t *simKeys) signIn(s *simulation, a *simAdmin) (cookie string) {
	cookie = fmt.Sprintf("browser-%d-%d-%s", s.seed, len(a.cookies), strings.ReplaceAll(string(a.id), "/", "-"))
	sum := sha256.Sum256([]byte(cookie))
	now := s.station.clock.Now()
	t.store(s, session.Account{
		ID: session.AccountID("sign-in/" + hex.EncodeToString(sum[:])), Kind: session.DeskSignIn, Name: "a browser", Of: a.id, Made: now, Expires: now.Add(time.Hour),
	})
	a.cookies = append(a.cookies, cookie)
	if in := s.opens(cookie); !in && !s.jumped {
		s.wrong(ruleAnswers, "%s signed in and is shown nothing", a.id)
	}
	return cookie
}

// administer lets an administrator begin, make a token or end another.
func (t *simKeys) administer(s *simulation) {
	var left []*simAdmin
	for _, a := range t.admins {
		if !a.ended {
			left = append(left, a)
		}
	}
	if len(left) < 2 {
		a := &simAdmin{id: session.AccountID(fmt.Sprintf("person/admin%d", len(t.admins)))}
		t.store(s, session.Account{ID: a.id, Kind: session.DeskPerson, Name: strings.TrimPrefix(string(a.id), "person/"), Role: session.DeskAdministrator, Secret: "none", Made: s.station.clock.Now()})
		t.admins = append(t.admins, a)
		s.note("%s begins", a.id)
		return
	}
	i := s.random.IntN(len(left))
	by, other := left[i], left[(i+1)%len(left)]
	cookie := t.signIn(s, by)
	if s.chance(2) {
		account, err := s.station.store.Account(context.Background(), by.id)
		if err != nil {
			s.wrong(ruleRest, "an administrator's record: %w", err)
			return
		}
		t.make(s, &access.Visitor{Account: account}, &simKey{admin: by})
		return
	}
	form := url.Values{"do": {"end"}, "id": {string(other.id)}}.Encode()
	r := httptest.NewRequest(http.MethodPost, "/desk/people/change", strings.NewReader(form))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if w := s.visit(r, cookie); w.Code != http.StatusSeeOther {
		if !s.jumped {
			s.wrong(ruleAnswers, "%s ends %s, and is answered %d", by.id, other.id, w.Code)
		}
		return
	}
	s.note("%s ends %s", by.id, other.id)
	s.happened.add("administrator ended")
	other.ended = true
}

// store writes an account as it is first made.
func (t *simKeys) store(s *simulation, a session.Account) {
	_, err := s.station.store.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Accounts: []session.Account{a}, Reply: session.Reply{Silent: true}}, nil
	})
	if err != nil {
		s.wrong(ruleRest, "store an account: %w", err)
	}
}

// lookAtAdmins holds that who was ended is shown nothing any more.
func (t *simKeys) lookAtAdmins(s *simulation) {
	for _, a := range t.admins {
		for _, cookie := range a.cookies {
			if a.ended && s.opens(cookie) {
				s.wrong(ruleEnded, "%s was ended and is shown the desk", a.id)
			}
		}
	}
}

func (s *simulation) opens(cookie string) bool {
	return s.visit(httptest.NewRequest(http.MethodGet, "/desk/people", nil), cookie).Code == http.StatusOK
}

func (s *simulation) visit(r *http.Request, cookie string) *httptest.ResponseRecorder {
	r.AddCookie(&http.Cookie{Name: "threshline_desk", Value: cookie})
	w := httptest.NewRecorder()
	s.station.gateway.ServeHTTP(w, r)
	return w
}
