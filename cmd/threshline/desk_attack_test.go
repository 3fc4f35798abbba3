package main

import (
	"context"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"threshline/cmd/threshline/demo"
	"threshline/session"
)

// TestAViewerInABrowserSeesNoNumbers lets a viewer in and looks at what their
// pages hold.
func TestAViewerInABrowserSeesNoNumbers(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	b := openBrowser(t, base)
	b.signUp(s)
	b.open("/desk/people")
	b.do(chromedp.Click(chromedp.CSS(`form[action="/desk/people/invite"] input[name="all"]`)))
	b.press(`form[action="/desk/people/invite"] button`)
	link := get(b, chromedp.Text(chromedp.CSS(".good code")))
	b.press(".visitor button")
	b.open(strings.TrimPrefix(link, base))
	b.fill("#name", "looks.on")
	b.fill("#password", deskPassword)
	b.fill("#again", deskPassword)
	b.press("main button")
	paths := get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("nav a")].map(a => a.getAttribute("href"))`))
	if len(paths) < 10 || slices.Contains(paths, "/desk/people") || slices.Contains(paths, "/desk/audit") {
		t.Fatalf("a viewer is offered %v", paths)
	}
	for _, path := range append(paths, "/desk/lots/"+someSlip(t, s), "/desk/growers/grower-1-01", "/desk/growers/agent-1") {
		b.open(path)
		text := get(b, chromedp.Evaluate[string](`document.documentElement.outerHTML`))
		for _, secret := range []string{"3363998", "Asha Mbeyu", "Juma Kitalu", "Amina A."} {
			if strings.Contains(text, secret) {
				t.Errorf("%s shows a viewer %q", path, secret)
			}
		}
	}
	b.quiet()
	if status := b.open("/desk/audit"); status != 403 {
		t.Errorf("the audit log: status %d, want 403", status)
	}
}

// TestAnotherSiteInABrowser has pages of other origins post to the desk in the
// name of a signed-in administrator: one that the cookie goes to, because only
// its port differs, and one of another site.
func TestAnotherSiteInABrowser(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	b := openBrowser(t, base)
	b.signUp(s)
	evil := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte(`<form method="post" action="` + base + `/desk/people/invite"><input name="role" value="administrator"><button>Win</button></form>`))
	}))
	defer evil.Close()
	before := notesOf(t, s)
	for _, from := range []string{evil.URL, strings.Replace(evil.URL, "127.0.0.1", "localhost", 1)} {
		if err := chromedp.Do(b.ctx, chromedp.Navigate(from)); err != nil {
			t.Fatal(err)
		}
		if status := b.press("button"); status != 403 {
			t.Errorf("a form at %s: status %d, want 403", from, status)
		}
		if text := get(b, chromedp.Text(chromedp.CSS("main"))); !strings.Contains(text, "another site") {
			t.Errorf("the answer says: %s", text)
		}
	}
	if after := notesOf(t, s); len(after) != len(before) {
		t.Errorf("something was done: %v", after[:len(after)-len(before)])
	}
}

func notesOf(t *testing.T, s *station) []session.AuditNote {
	t.Helper()
	notes, _, err := s.store.Notes(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return notes
}

// TestAScriptInANameStaysText files what a phone could send, and looks whether
// any page runs it.
func TestAScriptInANameStaysText(t *testing.T) {
	t.Parallel()
	const name, village = `<img src=x onerror="document.title='owned'">`, `"><script>document.title='owned'</script>`
	s, base := servedSeason(t)
	checks, err := s.store.Filed(t.Context(), 0, 1)
	if err != nil || len(checks) != 1 {
		t.Fatal(err)
	}
	c := checks[0]
	c.Slip, c.Version, c.Position, c.Recheck = session.NewSlip(4711), 0, 0, ""
	c.Lot.Grower, c.Lot.Village, c.Lot.Variety = "grower-evil", village, name
	at := seasonsEnd.Add(-time.Hour)
	err = demo.Apply(context.Background(), s.store, session.Writes{
		People: []session.Person{{ID: "grower-evil", Role: session.Grower, Name: name, District: c.Lot.District, Village: village, Agent: "agent-1", Short: 77, Joined: at}},
		Checks: []session.Check{c},
	})
	if err != nil {
		t.Fatal(err)
	}
	b := openBrowser(t, base)
	b.signUp(s)
	for _, path := range []string{"/desk/lots/" + string(c.Slip), "/desk/lots", "/desk/growers/grower-evil", "/desk/growers?find=img", "/desk/grades", "/desk/districts"} {
		b.open(path)
		if title := get(b, chromedp.Title()); strings.Contains(title, "owned") && !strings.Contains(title, "onerror") {
			t.Errorf("%s ran the script", path)
		}
		if made := get(b, chromedp.Evaluate[int](`document.querySelectorAll("main img, main script").length`)); made > 0 {
			t.Errorf("%s made %d elements of a name", path, made)
		}
	}
	b.quiet()
}
