package desk_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// token makes one at the desk and gives a caller that carries it.
func (h *house) token(admin *caller, districts []string, scopes ...string) (*caller, string) {
	h.t.Helper()
	a := admin.post("/desk/people/token", within(url.Values{"name": {"nightly"}, "scope": scopes, "days": {"30"}}, districts))
	_, text, found := strings.Cut(a.Body, "<code>threshline-")
	text, _, _ = strings.Cut(text, "<")
	if a.Status != http.StatusOK || !found {
		h.t.Fatalf("token: %d\n%s", a.Status, a.Body)
	}
	c := h.caller()
	c.header.Set("Authorization", "Bearer threshline-"+text)
	return c, "threshline-" + text
}

func TestATokenDoesWhatItsScopesSay(t *testing.T) {
	h := newHouse(t)
	h.season(12)
	admin := h.administrator()
	plain, _ := h.token(admin, nil, "export")
	full, _ := h.token(admin, nil, "export", "identified", "roster", "tokens")
	for path, want := range map[string][2]int{
		"/admin/v1/export?format=csv":                {200, 200},
		"/admin/v1/export?format=csv&identified=yes": {400, 200},
		"/admin/v1/people":                           {403, 200},
		"/admin/v1/tokens":                           {403, 200},
		"/admin/v1/backup":                           {403, 403},
		"/admin/v1/nothing":                          {404, 404},
	} {
		for i, c := range []*caller{plain, full} {
			if a := c.get(path); a.Status != want[i] {
				t.Errorf("%s with token %d: status %d, want %d: %s", path, i, a.Status, want[i], a.Body)
			}
		}
	}
	if s := secretIn(plain.get("/admin/v1/export?format=jsonl").Body, secrets); s != "" {
		t.Errorf("an export without names holds %q", s)
	}
	if body := full.get("/admin/v1/export?format=jsonl&identified=yes").Body; secretIn(body, []string{upperNumber}) == "" || secretIn(body, []string{kisimaNumber}) == "" {
		t.Error("an identified export holds no numbers")
	}
	if a := full.get("/desk/"); a.Status != http.StatusSeeOther {
		t.Errorf("a token opens a page: status %d", a.Status)
	}
}

func TestATokenOfADistrictGivesNoOther(t *testing.T) {
	h := newHouse(t)
	h.season(12)
	c, _ := h.token(h.administrator(), []string{"Kisima"}, "export", "identified", "roster", "tokens")
	for _, path := range []string{"/admin/v1/export?format=jsonl&identified=yes", "/admin/v1/people"} {
		a := c.get(path)
		if s := secretIn(a.Body, []string{upperGrower, upperNumber, "g-upper"}); s != "" || secretIn(a.Body, []string{kisimaNumber}) == "" {
			t.Errorf("%s: shows %q of another district, or nothing of its own", path, s)
		}
	}
	a := c.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(`{"name":"wider","scopes":["export"],"districts":["Upper Mbuyu"],"days":5}`))
	if a.Status != http.StatusBadRequest {
		t.Errorf("it gives another district away: status %d", a.Status)
	}
	a = c.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(`{"name":"all","scopes":["export"],"all_districts":true,"days":5}`))
	if a.Status != http.StatusBadRequest {
		t.Errorf("it gives all districts away: status %d", a.Status)
	}
	a = c.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(`{"name":"same","scopes":["export"],"districts":["Kisima"],"days":5}`))
	if a.Status != http.StatusCreated || !strings.Contains(a.Body, `"districts":["Kisima"]`) {
		t.Errorf("a token it makes is not bound like itself: %d %s", a.Status, a.Body)
	}
}

func TestATokenOfADistrictCopiesNoStoreAndEndsNoOthers(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	wide, text := h.token(admin, nil, "export", "backup", "tokens")
	if a := wide.get("/admin/v1/backup"); a.Status == http.StatusForbidden {
		t.Errorf("a token of all districts may not copy the store: status %d", a.Status)
	}
	form := url.Values{"name": {"copies"}, "days": {"30"}, "scope": {"backup"}, "district": {"Kisima"}}
	if a := admin.post("/desk/people/token", form); a.Status != http.StatusUnprocessableEntity || strings.Contains(a.Body, "threshline-") {
		t.Errorf("a copy of all districts for a token of one: status %d", a.Status)
	}
	narrow, of := h.token(admin, []string{"Kisima"}, "export", "tokens")
	held, err := h.store.Account(t.Context(), session.AccountID("token/"+strings.Split(of, "-")[1]))
	if err != nil {
		t.Fatal(err)
	}
	held.Scopes = append(held.Scopes, "backup") // as a store may hold one from before
	h.put(session.Writes{Accounts: []session.Account{held}})
	if a := narrow.get("/admin/v1/backup"); a.Status != http.StatusForbidden {
		t.Errorf("such a token copies the store: status %d", a.Status)
	}
	if a := narrow.get("/admin/v1/tokens"); strings.Count(a.Body, `"id"`) != 1 {
		t.Errorf("it lists tokens of others: %s", a.Body)
	}
	id := strings.Split(text, "-")[1]
	if a := narrow.ask("DELETE", "/admin/v1/tokens/"+id, "", nil); a.Status != http.StatusNotFound {
		t.Errorf("it ends a token of all districts: status %d, want 404", a.Status)
	}
	if a := wide.get("/admin/v1/export?format=csv"); a.Status != http.StatusOK {
		t.Errorf("the token of all districts: status %d", a.Status)
	}
}

func TestTokensAreMadeRevokedAndExpire(t *testing.T) {
	h := newHouse(t)
	h.season(2)
	admin := h.administrator()
	maker, _ := h.token(admin, nil, "export", "tokens")
	a := maker.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(`{"name":"weekly","scopes":["export"],"all_districts":true,"days":7}`))
	var made struct{ ID, Token string }
	if err := json.Unmarshal([]byte(a.Body), &made); err != nil || a.Status != http.StatusCreated || made.Token == "" {
		t.Fatalf("make: %d %s %v", a.Status, a.Body, err)
	}
	c := h.caller()
	c.header.Set("Authorization", "Bearer "+made.Token)
	if a := c.get("/admin/v1/export?format=csv"); a.Status != http.StatusOK {
		t.Errorf("the new token: status %d", a.Status)
	}
	if a := maker.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(`{"name":"more","scopes":["backup"],"all_districts":true,"days":7}`)); a.Status != http.StatusBadRequest {
		t.Errorf("a token gives a scope that it has not: status %d", a.Status)
	}
	for _, body := range []string{`{"name":"","scopes":["export"],"all_districts":true,"days":7}`, `{"name":"x","scopes":[],"all_districts":true,"days":7}`, `{"name":"x","scopes":["export"],"all_districts":true,"days":0}`,
		`{"name":"x","scopes":["export"],"all_districts":true,"days":9999}`, `{"name":"x","scopes":["all"],"all_districts":true,"days":7}`, `{"name":"x","role":"administrator"}`, `{"name":"x","scopes":["export"],"days":7}`, `{"name":"x","scopes":["export"],"districts":["Kisima"],"all_districts":true,"days":7}`, `nonsense`} {
		if a := maker.ask("POST", "/admin/v1/tokens", "application/json", strings.NewReader(body)); a.Status != http.StatusBadRequest {
			t.Errorf("%s: status %d, want 400", body, a.Status)
		}
	}
	if list := maker.get("/admin/v1/tokens").Body; strings.Contains(list, made.Token) || !strings.Contains(list, `"weekly"`) {
		t.Errorf("the list of tokens: %s", list)
	}
	id := strings.TrimPrefix(made.ID, "token/")
	if a := maker.ask("DELETE", "/admin/v1/tokens/"+id, "", nil); a.Status != http.StatusOK {
		t.Errorf("revoke: status %d", a.Status)
	}
	if a := c.get("/admin/v1/export?format=csv"); a.Status != http.StatusUnauthorized || a.Header.Get("WWW-Authenticate") == "" {
		t.Errorf("a revoked token: status %d", a.Status)
	}
	h.later(31 * 24 * time.Hour)
	if a := maker.get("/admin/v1/tokens"); a.Status != http.StatusUnauthorized {
		t.Errorf("a token past its time: status %d", a.Status)
	}
}

func TestAStoredTokenIsNotTheToken(t *testing.T) {
	h := newHouse(t)
	_, text := h.token(h.administrator(), nil, "export")
	all, err := h.store.Accounts(t.Context(), "", 100)
	if err != nil || len(all) == 0 {
		t.Fatal(err)
	}
	secret := strings.SplitN(text, "-", 3)[2] // which may hold a "-" itself
	if len(secret) < 16 {
		t.Fatalf("the token %q has no secret", text)
	}
	for _, a := range all {
		for _, field := range []string{string(a.ID), a.Secret, a.Name} {
			if strings.Contains(field, secret) || strings.Contains(field, password) {
				t.Errorf("account %q holds a secret in the clear", a.ID)
			}
		}
		if a.Kind == session.DeskPerson && !strings.HasPrefix(a.Secret, "$argon2id$v=19$") {
			t.Errorf("account %q has the hash %q", a.ID, a.Secret)
		}
	}
}

func TestGuessingTokensIsSlowedDown(t *testing.T) {
	h := newHouse(t)
	good, text := h.token(h.administrator(), nil, "export")
	guesser := h.caller()
	for i := range 30 {
		guesser.header.Set("Authorization", "Bearer "+text[:len(text)-1]+string(rune('A'+i%26))+"x")
		if a := guesser.get("/admin/v1/export?format=csv"); a.Status != http.StatusUnauthorized {
			t.Fatalf("guess %d: status %d", i, a.Status)
		}
	}
	if a := guesser.get("/admin/v1/export?format=csv"); a.Status != http.StatusTooManyRequests || a.Header.Get("Retry-After") == "" {
		t.Errorf("after thirty guesses: status %d, want 429 with a time", a.Status)
	}
	if a := good.get("/admin/v1/export?format=csv"); a.Status != http.StatusOK {
		t.Errorf("the good token from the same address: status %d, want to be let in", a.Status)
	}
	if a := sign(h.caller(), "head.office", password); a.Status != http.StatusSeeOther {
		t.Errorf("a person from the same address: status %d, want to be let in", a.Status)
	}
}
