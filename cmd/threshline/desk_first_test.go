package main

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// visitor signs the first administrator of a served station in.
func visitor(t *testing.T, s *station, base string) (get func(path string) (int, string)) {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	link, err := s.front.Guard().FirstLink(t.Context())
	if err != nil || link == "" {
		t.Fatalf("first link: %q, %v", link, err)
	}
	resp, err := client.PostForm(base+link, url.Values{"name": {deskName}, "password": {deskPassword}, "again": {deskPassword}})
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	return func(path string) (int, string) {
		t.Helper()
		resp, err := client.Get(base + path)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, string(body)
	}
}

// TestEveryPageAnswersBeforeAnythingIsRead asks the real program for each page that
// the contents list, while somebody else is reading the store after a start and
// not one check is known yet.
func TestEveryPageAnswersBeforeAnythingIsRead(t *testing.T) {
	s, base := servedSeason(t)
	s.feed.Turn <- struct{}{} // the reading has begun, and goes on until this is taken back
	get := visitor(t, s, base)
	_, home := get("/desk/")
	nav, _, _ := strings.Cut(home, "</nav>")
	links := regexp.MustCompile(`<li><a href="([^"]+)"`).FindAllStringSubmatch(nav, -1)
	if len(links) < 12 {
		t.Fatalf("the contents list %d pages", len(links))
	}
	links = append(links, []string{"", "/desk/report"}, []string{"", "/desk/visits"}, []string{"", "/desk/growers/grower-1-01"}, []string{"", "/desk/lots/" + someSlip(t, s)})
	const notice = "still reading its store: 0\u202fchecks so far"
	for _, link := range links {
		if status, body := get(link[1]); status != http.StatusOK || !strings.Contains(body, notice) {
			t.Errorf("%s: status %d, says how far it is: %t", link[1], status, strings.Contains(body, notice))
		}
	}
	if status, _ := get("/desk/export/file?format=csv"); status != http.StatusServiceUnavailable {
		t.Errorf("an export of nothing: status %d", status)
	}
	<-s.feed.Turn
	if err := s.feed.CatchUp(t.Context()); err != nil {
		t.Fatal(err)
	}
	if status, body := get("/desk/"); status != http.StatusOK || strings.Contains(body, "still reading") || !strings.Contains(body, "480\u202fchecks") {
		t.Errorf("after all was read: status %d", status)
	}
}
