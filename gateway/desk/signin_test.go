package desk_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"threshline/gateway/desk"
	"threshline/session"
)

func sign(c *caller, name, pass string) answer {
	return c.post("/desk/sign-in", url.Values{"name": {name}, "password": {pass}})
}

func TestTheFirstLinkMakesOneAdministrator(t *testing.T) {
	h := newHouse(t)
	first, err := h.desk.Guard().FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	second, err := h.desk.Guard().FirstLink(t.Context())
	if err != nil || first == second {
		t.Fatalf("a second start gives %q, %v: want another link", second, err)
	}
	form := url.Values{"name": {"head.office"}, "password": {password}, "again": {password}}
	if a := h.caller().post(first, form); a.Status != http.StatusGone {
		t.Errorf("the link of an earlier start: status %d, want 410", a.Status)
	}
	if a := h.caller().get(second); a.Status != http.StatusOK {
		t.Errorf("looking at the link: status %d", a.Status)
	}
	c := h.caller()
	if a := c.post(second, form); a.Status != http.StatusSeeOther {
		t.Fatalf("using the link: status %d\n%s", a.Status, a.Body)
	}
	if a := c.get("/desk/people"); a.Status != http.StatusOK {
		t.Errorf("the new administrator's page: status %d", a.Status)
	}
	form.Set("name", "somebody.else")
	if a := h.caller().post(second, form); a.Status != http.StatusGone {
		t.Errorf("the link once more: status %d, want 410", a.Status)
	}
	if again, err := h.desk.Guard().FirstLink(t.Context()); again != "" || err != nil {
		t.Errorf("a start with an administrator gives %q, %v: want no link", again, err)
	}
}

func TestALinkIsOfNoUseAfterItsTime(t *testing.T) {
	h := newHouse(t)
	path, err := h.desk.Guard().FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	h.later(73 * time.Hour)
	if a := h.caller().get(path); a.Status != http.StatusGone {
		t.Errorf("status %d, want 410", a.Status)
	}
}

func TestAPasswordHasToBeGoodAndTypedTwice(t *testing.T) {
	h := newHouse(t)
	path, err := h.desk.Guard().FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for what, form := range map[string]url.Values{
		"too short":          {"name": {"head"}, "password": {"short"}, "again": {"short"}},
		"not the same":       {"name": {"head"}, "password": {password}, "again": {password + "x"}},
		"with the name":      {"name": {"head"}, "password": {"my head office"}, "again": {"my head office"}},
		"one letter":         {"name": {"head"}, "password": {"aaaaaaaaaaaaaa"}, "again": {"aaaaaaaaaaaaaa"}},
		"a name with spaces": {"name": {"head office"}, "password": {password}, "again": {password}},
		"no name":            {"password": {password}, "again": {password}},
	} {
		if a := h.caller().post(path, form); a.Status != http.StatusUnprocessableEntity || !strings.Contains(a.Body, `role="alert"`) {
			t.Errorf("%s: status %d, want 422 and a reason", what, a.Status)
		}
	}
}

func TestSigningInAndOut(t *testing.T) {
	h := newHouse(t)
	h.administrator()
	c := h.caller()
	if a := c.get("/desk/grades?district=Kisima"); a.Status != http.StatusSeeOther || a.Header.Get("Location") != "/desk/sign-in?next=%2Fdesk%2Fgrades%3Fdistrict%3DKisima" {
		t.Errorf("a page before signing in: %d to %q", a.Status, a.Header.Get("Location"))
	}
	wrong, unknown := sign(c, "head.office", "wrong password"), sign(c, "nobody.here", "wrong password")
	if wrong.Status != http.StatusUnauthorized || unknown.Status != http.StatusUnauthorized ||
		strings.ReplaceAll(wrong.Body, "head.office", "") != strings.ReplaceAll(unknown.Body, "nobody.here", "") {
		t.Errorf("a wrong password (%d) can be told from a wrong name (%d)", wrong.Status, unknown.Status)
	}
	a := sign(c, "HEAD.office", password)
	if a.Status != http.StatusSeeOther || a.Header.Get("Location") != "/desk/" {
		t.Fatalf("signing in: %d to %q", a.Status, a.Header.Get("Location"))
	}
	k := a.raw[0]
	if !k.HttpOnly || k.SameSite != http.SameSiteLaxMode || k.Path != "/desk/" || k.Secure {
		t.Errorf("the cookie is %+v: want HttpOnly, SameSite=Lax, of the desk, and not Secure in the clear", k)
	}
	if a := c.get("/desk/"); a.Status != http.StatusOK {
		t.Errorf("signed in: status %d", a.Status)
	}
	copied := h.caller()
	copied.cookies[k.Name] = k.Value
	if a := c.post("/desk/sign-out", nil); a.Status != http.StatusSeeOther {
		t.Errorf("signing out: status %d", a.Status)
	}
	if a := copied.get("/desk/"); a.Status != http.StatusSeeOther {
		t.Errorf("a copy of the cookie after signing out: status %d, want to be sent to sign in", a.Status)
	}
}

func TestASignInEnds(t *testing.T) {
	h := newHouse(t)
	c := h.administrator()
	h.later(13 * time.Hour)
	if a := c.get("/desk/"); a.Status != http.StatusSeeOther {
		t.Errorf("half a day later: status %d", a.Status)
	}
	if a := sign(c, "head.office", password); a.Status != http.StatusSeeOther {
		t.Fatalf("signing in again: status %d", a.Status)
	}
	all, err := h.store.Accounts(t.Context(), "sign-in/", 100)
	if err != nil || len(all) != 1 {
		t.Errorf("%d sign-ins are kept (%v), want the ended one gone", len(all), err)
	}
}

func TestACookieIsSecureBehindTLS(t *testing.T) {
	h := newHouse(t, func(c *desk.Config) { c.Secure = true })
	path, _ := h.desk.Guard().FirstLink(t.Context())
	a := h.caller().post(path, url.Values{"name": {"head.office"}, "password": {password}, "again": {password}})
	if len(a.raw) != 2 || a.Header.Get("Strict-Transport-Security") == "" {
		t.Errorf("cookies %+v, headers %v: want two, and to stay with TLS", a.raw, a.Header)
	}
	for _, c := range a.raw {
		if !c.Secure || !c.HttpOnly || c.SameSite != http.SameSiteLaxMode {
			t.Errorf("cookie %+v: want it Secure, out of reach of scripts and of other sites", c)
		}
	}
}

func TestSigningInLeadsToNoOtherSite(t *testing.T) {
	h := newHouse(t)
	h.administrator()
	for _, next := range []string{"https://example.org/", "//example.org/desk/", "/desk/\\example.org", "/in/valley", "javascript:alert(1)", "/desk/\r\nX: y"} {
		a := h.caller().post("/desk/sign-in", url.Values{"name": {"head.office"}, "password": {password}, "next": {next}})
		if got := a.Header.Get("Location"); got != "/desk/" {
			t.Errorf("next %q leads to %q", next, got)
		}
	}
}

func TestGuessingIsSlowedDownWithoutLockingAnybodyElseOut(t *testing.T) {
	h := newHouse(t)
	h.administrator()
	guesser := h.caller()
	for i := range 5 {
		if a := sign(guesser, "head.office", "guess number x"); a.Status != http.StatusUnauthorized {
			t.Fatalf("guess %d: status %d", i+1, a.Status)
		}
	}
	a := sign(guesser, "head.office", password)
	if a.Status != http.StatusTooManyRequests || a.Header.Get("Retry-After") == "" {
		t.Errorf("after five wrong ones even the right password: status %d, want 429 with a time", a.Status)
	}
	if a := sign(guesser, "Head.Office", password); a.Status != http.StatusTooManyRequests {
		t.Errorf("in other letters: status %d, want 429", a.Status)
	}
	h.address = "198.51.100.7"
	if a := sign(h.caller(), "head.office", password); a.Status != http.StatusSeeOther {
		t.Errorf("the person from where they are: status %d, want to be let in", a.Status)
	}
	h.address = "192.0.2.1"
	h.later(31 * time.Second)
	if a := sign(guesser, "head.office", "guess number x"); a.Status != http.StatusUnauthorized {
		t.Errorf("after the wait: status %d", a.Status)
	}
	h.later(31 * time.Second)
	if a := sign(guesser, "head.office", password); a.Status != http.StatusTooManyRequests {
		t.Errorf("the second wait is no longer than the first: status %d", a.Status)
	}
}

func TestGuessingManyNamesFromOneAddressIsSlowedDown(t *testing.T) {
	h := newHouse(t)
	h.administrator()
	h.address = "2001:db8:1:2::1"
	for i := range 30 {
		sign(h.caller(), "name"+strings.Repeat("x", i%20)+string(rune('a'+i%26)), "one guess each")
	}
	h.address = "2001:db8:1:2:ffff::9" // the same /64
	if a := sign(h.caller(), "head.office", password); a.Status != http.StatusTooManyRequests {
		t.Errorf("status %d, want 429", a.Status)
	}
	h.address = "2001:db8:1:3::1"
	if a := sign(h.caller(), "head.office", password); a.Status != http.StatusSeeOther {
		t.Errorf("from the next network: status %d", a.Status)
	}
}

func TestANewPasswordSignsOldBrowsersOut(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	c := h.member(admin, "field.one", session.DeskViewer)
	a := admin.post("/desk/people/change", url.Values{"id": {"person/field.one"}, "do": {"password"}})
	_, link, _ := strings.Cut(a.Body, "http://example.com")
	link, _, _ = strings.Cut(link, "<")
	fresh := h.caller()
	if a := fresh.post(link, url.Values{"password": {"another good phrase"}, "again": {"another good phrase"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("new password: status %d\n%s", a.Status, a.Body)
	}
	if a := c.get("/desk/"); a.Status != http.StatusSeeOther {
		t.Errorf("the old browser: status %d, want to be sent to sign in", a.Status)
	}
	if a := sign(h.caller(), "field.one", password); a.Status != http.StatusUnauthorized {
		t.Errorf("the old password: status %d", a.Status)
	}
	if a := fresh.get("/desk/people"); a.Status != http.StatusForbidden {
		t.Errorf("the role did not stay: status %d on the administrators' page", a.Status)
	}
}

func TestAnEndedAccountIsOutAtOnce(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	c := h.member(admin, "field.one", session.DeskViewer)
	if a := admin.post("/desk/people/change", url.Values{"id": {"person/field.one"}, "do": {"end"}}); a.Status != http.StatusSeeOther {
		t.Fatalf("end: status %d\n%s", a.Status, a.Body)
	}
	if a := c.get("/desk/"); a.Status != http.StatusSeeOther {
		t.Errorf("its browser: status %d", a.Status)
	}
	if a := sign(h.caller(), "field.one", password); a.Status != http.StatusUnauthorized {
		t.Errorf("its password: status %d", a.Status)
	}
	if a := admin.post("/desk/people/change", url.Values{"id": {"person/head.office"}, "do": {"end"}}); a.Status != http.StatusConflict {
		t.Errorf("ending the last administrator: status %d, want 409", a.Status)
	}
}

// TestALinkForAPasswordGivesNothingBack: who was ended or given less has an
// unused link from before.
func TestALinkForAPasswordGivesNothingBack(t *testing.T) {
	h := newHouse(t)
	admin := h.administrator()
	for name, later := range map[string]url.Values{
		"field.one": {"do": {"end"}},
		"field.two": {"do": {"role"}, "role": {"viewer"}, "district": {"Kisima"}},
	} {
		h.member(admin, name, session.DeskAdministrator)
		a := admin.post("/desk/people/change", url.Values{"id": {"person/" + name}, "do": {"password"}})
		_, link, found := strings.Cut(a.Body, "http://example.com")
		link, _, _ = strings.Cut(link, "<")
		later.Set("id", "person/"+name)
		if b := admin.post("/desk/people/change", later); !found || b.Status != http.StatusSeeOther {
			t.Fatalf("%s: status %d and %d", name, a.Status, b.Status)
		}
		if a := h.caller().post(link, url.Values{"password": {password}, "again": {password}}); a.Status != http.StatusGone {
			t.Errorf("%s comes in by the link from before: status %d, want 410", name, a.Status)
		}
	}
}

// TestWhoeverSharesAnAddressLocksNobodyOutOfTheirBrowser: behind one address sit
// an office and a guesser.
func TestWhoeverSharesAnAddressLocksNobodyOutOfTheirBrowser(t *testing.T) {
	h := newHouse(t)
	own := h.administrator() // this browser has signed in
	guesser := h.caller()
	for i := range 40 {
		sign(guesser, "head.office", "guess number x")
		sign(guesser, "name"+string(rune('a'+i%26)), "one guess each")
	}
	if a := sign(h.caller(), "head.office", password); a.Status != http.StatusTooManyRequests {
		t.Errorf("a browser that nobody knows: status %d, want 429", a.Status)
	}
	if a := sign(own, "other.name", password); a.Status != http.StatusTooManyRequests {
		t.Errorf("the known browser with another name: status %d, want 429", a.Status)
	}
	if a := sign(own, "head.office", password); a.Status != http.StatusSeeOther {
		t.Errorf("the known browser: status %d, want to be let in", a.Status)
	}
	for range 5 {
		if a := sign(own, "head.office", "guess number x"); a.Status != http.StatusUnauthorized {
			t.Fatalf("the known browser with a wrong password: status %d", a.Status)
		}
	}
	if a := sign(own, "head.office", password); a.Status != http.StatusTooManyRequests {
		t.Errorf("the known browser after five wrong ones: status %d, want 429", a.Status)
	}
}
