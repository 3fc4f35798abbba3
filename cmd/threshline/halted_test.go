package main

import (
	"errors"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/session"
	"threshline/session/store/bolt"
)

// A write that fails in a way that leaves the file in doubt ends the program,
// for the supervisor to start it again; until then carriers are told to deliver
// again.
func TestAProgramWhoseStoreHaltsEnds(t *testing.T) {
	place := newSite(t, program{}, "127.0.0.1:1", `journal = "threshline.journal"`, "")
	fill(t, place)
	cfg, err := config.Load(place.config())
	if err != nil {
		t.Fatal(err)
	}
	s, err := openStation(cfg, place.store(), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- s.run(t.Context(), listener) }()
	post := func() *http.Response {
		req, err := http.NewRequest(http.MethodPost, "http://"+listener.Addr().String()+"/in/valley-ussd", strings.NewReader("msisdn=%2B33639989999&input=&sid=x&mid=1"))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("X-Token", valleyToken)
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		return resp
	}
	if resp := post(); resp.StatusCode != http.StatusOK {
		t.Fatalf("answered %s while all is well", resp.Status)
	}
	if err := os.Truncate(place.store(), int64(4*os.Getpagesize())); err != nil { // as a dying disk does
		t.Fatal(err)
	}
	if resp := post(); resp.StatusCode != http.StatusServiceUnavailable || resp.Header.Get("Retry-After") == "" {
		t.Errorf("answered %s, come again after %q", resp.Status, resp.Header.Get("Retry-After"))
	}
	_, err = s.store.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Notes: []session.AuditNote{{Did: "wrote"}}, Checks: []session.Check{{Slip: "S", Reporter: "p"}}}, nil
	})
	if !errors.Is(err, session.ErrHalted) {
		t.Errorf("a write: %v", err)
	}
	select {
	case err := <-ended:
		if !errors.Is(err, session.ErrHalted) {
			t.Errorf("ended with %v", err)
		}
	case <-time.After(patience):
		t.Fatal("the program goes on without a store")
	}
}

func TestABackupIsNotMadeOverTheStore(t *testing.T) {
	s := newSite(t, program{}, "127.0.0.1:1")
	fill(t, s)
	want := kept(t, s.store())
	refused := func(to, hint string, more ...string) {
		t.Helper()
		args := append([]string{"backup", "--config", s.config(), "--to", to, "--overwrite"}, more...)
		if code, _, problem := commandLine(t, args...); code != 1 || !strings.Contains(problem, hint) {
			t.Errorf("%s %q: %d %s", to, more, code, problem)
		}
	}
	held, err := bolt.Open(s.store(), bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	refused(s.store(), "choose another file", "--token", "env:VALLEY_TOKEN")
	refused(s.store(), "choose another file")
	if err := held.Close(); err != nil {
		t.Fatal(err)
	}
	refused(s.store(), "choose another file")
	refused(s.dir+"/threshline.journal", "choose another file")
	if got := kept(t, s.store()); len(got.checks) != len(want.checks) {
		t.Error("the store has changed")
	}
}
