package main

import (
	"bytes"
	"context"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"
	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
)

// office is a gateway with a configuration in a file, and a browser at it.
type office struct {
	*station
	config string
	base   string
	client *http.Client
}

func newOffice(t *testing.T) *office {
	t.Helper()
	o := &office{config: filepath.Join(t.TempDir(), "valley.toml")}
	text := strings.Replace(string(demo.Config), "one_factor = true", "one_factor = false", 1)
	if err := os.WriteFile(o.config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	o.open(t)
	t.Cleanup(func() { o.close() })
	return o
}

// open starts the gateway, and forgets who was signed in.
func (o *office) open(t *testing.T) {
	t.Helper()
	cfg, err := config.Load(o.config)
	if err != nil {
		t.Fatal(err)
	}
	if o.station, err = openStation(cfg, cfg.StorePath(), zerolog.Nop()); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(o.gateway)
	t.Cleanup(server.Close)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	o.base, o.client = server.URL, &http.Client{Jar: jar}
}

// post sends a form and gives the page that came, after redirects, and where.
func (o *office) post(t *testing.T, path string, form url.Values) (page, where string) {
	t.Helper()
	resp, err := o.client.PostForm(o.base+path, form)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	var b bytes.Buffer
	if _, err := b.ReadFrom(resp.Body); err != nil {
		t.Fatal(err)
	}
	return b.String(), resp.Request.URL.Path
}

// setUp sets up the second factor that the page offers.
func (o *office) setUp(t *testing.T, page string) {
	t.Helper()
	m := regexp.MustCompile(`name="factor" value="([A-Z2-7]{32})"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("the page offers no second factor:\n%s", page)
	}
	code, err := totp.GenerateCode(m[1], time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if page, _ := o.post(t, "/desk/account/factor", url.Values{"factor": {m[1]}, "code": {code}}); !strings.Contains(page, "Recovery codes") {
		t.Fatalf("set up:\n%s", page)
	}
}

// link runs threshline access link, and gives the path.
func (o *office) link(t *testing.T, name string) string {
	t.Helper()
	var said bytes.Buffer
	cmd := accessLinkCmd{Config: o.config, Name: name}
	if err := cmd.Run(t.Context(), stdio{out: &said}); err != nil {
		t.Fatal(err)
	}
	at := strings.Index(said.String(), "/desk/link/")
	if at < 0 {
		t.Fatalf("it says %q", said.String())
	}
	return strings.TrimSpace(said.String()[at:])
}

// notes is the audit log, one line each.
func (o *office) notes(t *testing.T) (text string) {
	t.Helper()
	for _, n := range notesOf(t, o.station) {
		text += n.Who + ": " + n.Did + ": " + n.Subject + "\n"
	}
	return text
}

// TestTheOnlyAdministratorComesBack lets the first one in at rest, and brings them
// back without password and second factor while the gateway runs.
func TestTheOnlyAdministratorComesBack(t *testing.T) {
	o := newOffice(t)
	if err := o.close(); err != nil {
		t.Fatal(err)
	}
	first := o.link(t, "")
	o.open(t)
	page, where := o.post(t, first, url.Values{"name": {deskName}, "password": {deskPassword}, "again": {deskPassword}})
	if where != "/desk/account" {
		t.Fatalf("the first administrator is at %s", where)
	}
	o.setUp(t, page)

	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	o.serveLocal(ctx)
	const fresh = "husks in the evening wind"
	if page, where = o.post(t, o.link(t, deskName), url.Values{"password": {fresh}, "again": {fresh}}); where != "/desk/account" {
		t.Fatalf("who comes back is at %s, want to set up another second factor:\n%s", where, page)
	}
	o.setUp(t, page)
	if _, where = o.post(t, "/desk/people/invite", url.Values{"role": {"administrator"}}); where != "/desk/people/invite" {
		t.Errorf("then at %s", where)
	}
	notes := o.notes(t)
	for _, want := range []string{"administrator at the machine: made a one-time link", "administrator at the machine: made a link for a new password, without the second factor: person/" + deskName} {
		if !strings.Contains(notes, want) {
			t.Errorf("not in the audit log: %q\n%s", want, notes)
		}
	}
	cmd := accessLinkCmd{Config: o.config, Name: "no.such"}
	if err := cmd.Run(t.Context(), stdio{out: &bytes.Buffer{}}); err == nil || !strings.Contains(err.Error(), "no administrator of the name") {
		t.Errorf("a name of nobody: %v", err)
	}
}

// TestTheFirstTokenIsMadeAtTheMachine makes it before anybody is at the desk.
func TestTheFirstTokenIsMadeAtTheMachine(t *testing.T) {
	o := newOffice(t)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	o.serveLocal(ctx)
	info, err := os.Stat(o.cfg.LocalSocket())
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("the socket: %v, %v; want it for its user alone", info, err)
	}
	var said bytes.Buffer
	cmd := accessTokenCmd{Config: o.config, Name: "nightly", Scope: []string{"export"}, Days: 30}
	if err := cmd.Run(t.Context(), stdio{out: &said}); err != nil {
		t.Fatal(err)
	}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, o.base+"/admin/v1/export?format=csv", nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+strings.TrimSpace(said.String()))
	resp, err := o.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("the token: status %d", resp.StatusCode)
	}
	if notes := o.notes(t); !strings.Contains(notes, "administrator at the machine: made a token for export") {
		t.Errorf("not in the audit log:\n%s", notes)
	}
	cmd.Days = 500
	if err := cmd.Run(t.Context(), stdio{out: &said}); err == nil || !strings.Contains(err.Error(), "1 to 366 days") {
		t.Errorf("500 days: %v", err)
	}
}

// TestALogGetsNoLink: what a start prints goes to the journal where no person
// reads it.
func TestALogGetsNoLink(t *testing.T) {
	o := newOffice(t)
	line, err := o.deskLine(t.Context(), "http://192.0.2.1", false)
	if err != nil || strings.Contains(line, "/desk/link/") || !strings.Contains(line, "threshline access link") {
		t.Errorf("in a log: %q, %v", line, err)
	}
	if line, err = o.deskLine(t.Context(), "http://192.0.2.1", true); err != nil || !strings.Contains(line, "/desk/link/") {
		t.Errorf("on a terminal: %q, %v", line, err)
	}
}
