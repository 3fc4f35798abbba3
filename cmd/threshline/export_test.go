package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// tokenOf makes a token at a served desk, as an administrator does, and leaves
// it in a file.
func tokenOf(t *testing.T, s *station, base string, scopes ...string) (file string) {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	post := func(path string, form url.Values) string {
		resp, err := client.PostForm(base+path, form)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		var body bytes.Buffer
		if _, err := body.ReadFrom(resp.Body); err != nil || resp.StatusCode != 200 {
			t.Fatalf("%s: %s, %v", path, resp.Status, err)
		}
		return body.String()
	}
	link, err := s.front.Guard().FirstLink(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	post(link, url.Values{"name": {deskName}, "password": {deskPassword}, "again": {deskPassword}})
	page := post("/desk/people/token", url.Values{"name": {"test"}, "scope": scopes, "days": {"7"}, "all": {"yes"}})
	token := regexp.MustCompile(`threshline-[0-9a-f]+-[\w-]+`).FindString(page)
	if token == "" {
		t.Fatal("the page shows no token")
	}
	file = filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(file, []byte(token+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestExportFromTheTerminal(t *testing.T) {
	s, base := servedSeason(t)
	token := tokenOf(t, s, base, "export")
	var out bytes.Buffer
	std := stdio{in: strings.NewReader(""), out: &out, err: &out}
	cmd := exportCmd{At: base, TokenFile: token, Format: "csv", District: "Korongo", Kind: "first"}
	if err := cmd.Run(context.Background(), std); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	checks, err := s.store.Filed(t.Context(), 0, 10_000)
	if err != nil {
		t.Fatal(err)
	}
	want := 0
	for _, c := range checks {
		if c.Lot.District == "Korongo" && c.Recheck == "" {
			want++
		}
	}
	if len(rows) != want+1 {
		t.Errorf("%d rows, the store has %d such checks", len(rows)-1, want)
	}
	for _, row := range rows {
		if strings.Contains(strings.Join(row, " "), "3363998") {
			t.Fatalf("a row holds a number: %q", row)
		}
	}

	path := filepath.Join(t.TempDir(), "checks.jsonl")
	cmd = exportCmd{At: base + "/", TokenFile: token, Format: "jsonl", Out: path}
	if err := cmd.Run(context.Background(), std); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var head struct{ About struct{ Filter string } }
	first, _, _ := bytes.Cut(data, []byte("\n"))
	if err := json.Unmarshal(first, &head); err != nil || head.About.Filter != "All checks" || bytes.Count(data, []byte("\n")) != len(checks)+1 {
		t.Errorf("the file says %q in %d lines, %v; want all %d checks", head.About.Filter, bytes.Count(data, []byte("\n")), err, len(checks))
	}
}

func TestExportSaysWhyNot(t *testing.T) {
	s, base := servedSeason(t)
	token := tokenOf(t, s, base, "export")
	wrong := filepath.Join(t.TempDir(), "wrong")
	if err := os.WriteFile(wrong, []byte("threshline-0123456789ab-nonsense"), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv(tokenVariable, "")
	out := filepath.Join(t.TempDir(), "out.csv")
	for what, c := range map[string]struct {
		cmd  exportCmd
		says string
	}{
		"names without the scope": {exportCmd{At: base, TokenFile: token, Format: "csv", Identified: true, Out: out}, "without names and numbers only"},
		"a wrong token":           {exportCmd{At: base, TokenFile: wrong, Format: "csv", Out: out}, "no token that is in use"},
		"no token":                {exportCmd{At: base, Format: "csv", Out: out}, "there is no token"},
		"a day that is none":      {exportCmd{At: base, TokenFile: token, Format: "csv", From: "soon", Out: out}, "cannot be read"},
		"nobody there":            {exportCmd{At: "http://127.0.0.1:1", TokenFile: token, Format: "csv", Out: out}, "no answer from the gateway"},
	} {
		err := c.cmd.Run(context.Background(), stdio{in: strings.NewReader(""), out: &bytes.Buffer{}, err: &bytes.Buffer{}})
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want one that says %q", what, err, c.says)
		}
		var h hinted
		if !errors.As(err, &h) || h.Hint() == "" {
			t.Errorf("%s: no hint what to do", what)
		}
	}
	if entries, err := os.ReadDir(filepath.Dir(out)); err != nil || len(entries) != 0 {
		t.Errorf("a failed export leaves %v, %v", entries, err)
	}
}
