package desk_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"threshline/session"
)

func TestAnotherSiteCannotChangeAnything(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	before := len(h.notes())
	for what, header := range map[string]http.Header{
		"a form on another site":       {"Sec-Fetch-Site": {"cross-site"}, "Origin": {"https://example.org"}},
		"a sister site":                {"Sec-Fetch-Site": {"same-site"}, "Origin": {"https://other.example.com"}},
		"an old browser, another site": {"Origin": {"https://example.org"}},
		"an opaque origin":             {"Origin": {"null"}},
	} {
		admin.header = header
		for path, form := range map[string]url.Values{
			"/desk/people/invite": {"role": {"administrator"}},
			"/desk/people/token":  {"name": {"x"}, "scope": {"backup"}, "days": {"5"}},
			"/desk/people/change": {"id": {"person/head.office"}, "do": {"end"}},
			"/desk/sign-out":      {},
			"/desk/sign-in":       {"name": {"head.office"}, "password": {password}},
			"/desk/handset":       {"do": {"dial"}},
		} {
			if a := admin.post(path, form); a.Status != http.StatusForbidden {
				t.Errorf("%s at %s: status %d, want 403", what, path, a.Status)
			}
		}
	}
	if after := h.notes(); len(after) != before {
		t.Errorf("something was done: %q", after)
	}
	admin.header = http.Header{"Sec-Fetch-Site": {"same-origin"}, "Origin": {"http://example.com"}}
	if a := admin.post("/desk/people/invite", url.Values{"role": {"viewer"}, "all": {"yes"}}); a.Status != http.StatusOK {
		t.Errorf("our own form: status %d", a.Status)
	}
}

func TestEveryAnswerHasTheHeaders(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	for _, path := range append([]string{"/desk/sign-in", "/desk/nothing", "/desk/people", "/desk/audit", "/admin/v1/export"}, pages...) {
		a := admin.get(path)
		policy := a.Header.Get("Content-Security-Policy")
		if !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "script") || strings.Contains(policy, "unsafe") {
			t.Errorf("%s: policy %q", path, policy)
		}
		if a.Header.Get("X-Content-Type-Options") != "nosniff" || a.Header.Get("Cache-Control") != "no-store" || a.Header.Get("X-Frame-Options") != "DENY" {
			t.Errorf("%s: headers %v", path, a.Header)
		}
	}
}

// inline finds what the policy would block, or what loads from elsewhere.
var inline = regexp.MustCompile(`(?i)<script|<style|\sstyle=|\son[a-z]+=|javascript:|<iframe|<object|(src|href|action)="(https?:)?//`)

func TestNoPageHoldsAScriptOrLoadsFromElsewhere(t *testing.T) {
	h := newHouse(t)
	checks := h.season(30)
	admin := h.administrator()
	for _, path := range append([]string{"/desk/people", "/desk/audit", "/desk/lots/" + string(checks[0].Slip), "/desk/growers/g-upper"}, pages...) {
		a := admin.get(path)
		if a.Status != http.StatusOK {
			t.Errorf("%s: status %d", path, a.Status)
		}
		if found := inline.FindString(a.Body); found != "" {
			t.Errorf("%s holds %q", path, found)
		}
	}
}

func TestWhatPeopleTypedIsOnlyEverText(t *testing.T) {
	const evil = `<script>alert("x")</script><b onmouseover=y>`
	h := newHouse(t)
	h.people()
	p := session.Person{ID: "g-evil", Role: session.Grower, Name: evil, District: "Kisima", Village: evil, Agent: "a-kisima", Short: 2}
	c := h.check(1, "Kisima", reading(145, 30, 1))
	c.Lot.Grower, c.Lot.Village, c.Lot.Variety, c.Channel = "g-evil", evil, evil, evil
	h.put(session.Writes{People: []session.Person{p}, Checks: []session.Check{c}, Outgoing: []session.Outgoing{
		{ID: "m1", To: kisimaNumber, Text: evil, Created: begin, State: session.Failed, Problem: evil, Channel: evil},
	}})
	admin := h.administrator()
	shown := 0
	for _, path := range append([]string{"/desk/lots/" + string(c.Slip), "/desk/growers/g-evil", "/desk/audit",
		"/desk/?village=" + url.QueryEscape(evil), "/desk/lots?slip=" + url.QueryEscape(evil), "/desk/growers?find=" + url.QueryEscape(evil),
		"/desk/sign-in?next=" + url.QueryEscape(`"/><script>`)}, pages...) {
		a := admin.get(path)
		if strings.Contains(a.Body, "<script") || strings.Contains(a.Body, "<b onmouse") {
			t.Errorf("%s lets markup through", path)
		}
		if strings.Contains(a.Body, "&lt;script&gt;") {
			shown++
		}
	}
	if shown < 5 {
		t.Errorf("the text was shown on %d pages: the test looks at too little", shown)
	}
	if a := admin.post("/desk/handset", url.Values{"text": {evil}}); strings.Contains(a.Body, "<script") || !strings.Contains(a.Body, "&lt;script") {
		t.Error("the handset lets markup through, or shows nothing")
	}
}

func TestAFormIsBounded(t *testing.T) {
	h := newHouse(t)
	a := h.caller().post("/desk/sign-in", url.Values{"name": {strings.Repeat("x", 200_000)}, "password": {"y"}})
	if a.Status != http.StatusUnauthorized && a.Status != http.StatusBadRequest && a.Status != http.StatusRequestEntityTooLarge {
		t.Errorf("status %d", a.Status)
	}
}
