package main

import (
	"io"
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"threshline/session"
)

// TestPracticeIsNeverInTheSeason dials on the practice handset in a browser and
// goes on until a person is known there; the programme's own store holds nobody
// new.
func TestPracticeIsNeverInTheSeason(t *testing.T) {
	t.Parallel()
	s, base := servedSeason(t)
	before, err := everybody(t.Context(), s.store)
	if err != nil {
		t.Fatal(err)
	}
	b := openBrowser(t, base)
	b.signUp(s)
	b.open("/desk/handset")
	b.press(`button[value="dial"]`)
	first := get(b, chromedp.Text(chromedp.CSS(".screen")))
	seen := map[string]bool{first: true}
	for _, keyed := range []string{"1", "1", "1"} {
		b.do(chromedp.SendKeys(chromedp.CSS("#text"), keyed))
		b.press(`button[value="send"]`)
		seen[get(b, chromedp.Text(chromedp.CSS(".screen")))] = true
	}
	if len(seen) < 4 || seen[""] {
		t.Errorf("the handset showed %d different screens: %v", len(seen), seen)
	}
	b.picture("handset-1280")
	after, err := everybody(t.Context(), s.store)
	if err != nil || len(after) != len(before) {
		t.Errorf("%d people before, %d after practice, %v", len(before), len(after), err)
	}
	err = s.store.Read(t.Context(), func(v session.View) error {
		d, err := v.Dialogue(practiceNumber("person/" + deskName))
		if err == nil && !d.Empty() {
			t.Error("the programme's store holds the practice dialogue")
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
	b.quiet()
}

// TestTheRosterOverTheInterface brings people in over the running gateway: all
// of a file or nothing, and says what is wrong with which line.
func TestTheRosterOverTheInterface(t *testing.T) {
	s, base := servedSeason(t)
	data, err := os.ReadFile(tokenOf(t, s, base, "roster", "identified"))
	if err != nil {
		t.Fatal(err)
	}
	ask := func(method, path, body string) (int, string) {
		req, err := http.NewRequestWithContext(t.Context(), method, base+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Authorization", "Bearer "+strings.TrimSpace(string(data)))
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		text, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, string(text)
	}
	const good = "role,number,name,district\nagent,+33639985001,Rehema Jembe,Kisima\n"
	if status, text := ask("POST", "/admin/v1/roster?dry_run=yes", good); status != 200 || !strings.Contains(text, `"added":1`) {
		t.Errorf("a dry run: %d %s", status, text)
	}
	if status, text := ask("POST", "/admin/v1/roster", good+"agent,12,Nobody,Elsewhere\n"); status != 422 || !strings.Contains(text, "line 3") {
		t.Errorf("a file with a fault: %d %s", status, text)
	}
	if _, text := ask("GET", "/admin/v1/roster", ""); strings.Contains(text, "Rehema") || !strings.Contains(text, "Asha Mbeyu") {
		t.Error("after a dry run and a fault somebody is in, or the roster is empty")
	}
	if status, text := ask("POST", "/admin/v1/roster", good); status != 200 || !strings.Contains(text, `"added":1`) {
		t.Errorf("a good file: %d %s", status, text)
	}
	if _, text := ask("GET", "/admin/v1/roster", ""); !strings.Contains(text, "Rehema Jembe") {
		t.Error("the roster lacks who was brought in")
	}
}
