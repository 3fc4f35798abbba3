package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/gateway/dispatch"
	"threshline/session"
	"threshline/session/store/bolt"
)

// aStation is one over a filled store; log gets what it says.
func aStation(t *testing.T, log io.Writer) (*station, *site) {
	t.Helper()
	place := newSite(t, program{}, "127.0.0.1:1")
	fill(t, place)
	cfg, err := config.Load(place.config())
	if err != nil {
		t.Fatal(err)
	}
	s, err := openStation(cfg, place.store(), zerolog.New(log))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.close() })
	return s, place
}

// jump is a clock of a station that has jumped, and the way back.
func (s *station) jumpTo(t *testing.T, by *time.Duration) {
	t.Helper()
	s.clock = dispatch.NewClock(func() time.Time { return time.Now().Round(0).Add(*by) }, passed, time.Time{})
	s.worker = nil
	s.store.(*bolt.Store).Stamp(s.clock.Sure)
	if err := s.assemble(); err != nil {
		t.Fatal(err)
	}
}

func names(t *testing.T, s *station) (n int) {
	t.Helper()
	people, err := s.store.People(t.Context(), "", 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range people {
		if p.Name != "" {
			n++
		}
	}
	return n
}

// Four years forward for one tick let nobody go and drop nothing; /readyz and
// the log say so; and an operator lets it go on.
func TestAClockThatJumpsDestroysNothing(t *testing.T) {
	var log strings.Builder
	s, _ := aStation(t, &log)
	s.programme.KeepPeopleFor = 1095 * 24 * time.Hour
	var by time.Duration
	s.jumpTo(t, &by)
	before := names(t, s)
	if before == 0 {
		t.Fatal("nobody has a name: this test shows nothing")
	}
	key := session.Key{Phone: "+33639989998", Duplicate: "m", KeepUntil: s.clock.Now().Add(7 * 24 * time.Hour)}
	if _, err := s.store.Exchange(t.Context(), key, func(session.View) (session.Writes, error) {
		return session.Writes{Reply: session.Reply{Text: "kept"}}, nil
	}); err != nil {
		t.Fatal(err)
	}
	tick, watch := func() {
		t.Helper()
		if _, err := s.release(t.Context()); err != nil {
			t.Error(err)
		}
		if _, err := dispatch.Sweep(t.Context(), s.store, s.clock.Sure()); err != nil {
			t.Error(err)
		}
	}, s.watchClock()
	by = 4 * 365 * 24 * time.Hour
	tick()
	_, _ = watch(t.Context())
	if got := names(t, s); got != before {
		t.Errorf("%d of %d names are left", got, before)
	}
	if out, err := s.store.Exchange(t.Context(), key, func(session.View) (session.Writes, error) { return session.Writes{}, nil }); err != nil || !out.Duplicate {
		t.Errorf("what is kept for redelivery is gone: %+v, %v", out, err)
	}
	w := httptest.NewRecorder()
	s.gateway.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/readyz", nil))
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "jumped ahead") || !strings.Contains(log.String(), "the clock is not believed") {
		t.Errorf("/readyz says %d %s, the log\n%s", w.Code, w.Body, log.String())
	}
	upkeep{s}.ConfirmClock()
	tick()
	_, _ = watch(t.Context())
	if got := names(t, s); got == before {
		t.Error("confirmed, and nobody is let go")
	}
	if !strings.Contains(log.String(), "believed again") {
		t.Errorf("the log\n%s", log.String())
	}
}

// A start compares the clock with the last commit.
func TestAStartLongAfterTheLastCommitWaits(t *testing.T) {
	var log strings.Builder
	s, place := aStation(t, &log)
	s.store.(*bolt.Store).Stamp(func() time.Time { return time.Now().AddDate(0, 0, -10) })
	if _, err := s.store.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Notes: []session.AuditNote{{Did: "wrote"}}}, nil
	}); err != nil {
		t.Fatal(err)
	}
	if err := s.close(); err != nil {
		t.Fatal(err)
	}
	again, err := openStation(s.cfg, place.store(), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer again.close()
	if doubt := again.clock.Doubt(); !strings.Contains(doubt, "10 days ahead of the last commit") {
		t.Errorf("it says %q", doubt)
	}
	if at := again.clock.Sure(); time.Since(at) < 9*24*time.Hour {
		t.Errorf("sure of %v", at)
	}
}

// The commands ask the running gateway, with a token of that scope.
func TestUpkeepByCommand(t *testing.T) {
	s, place := aStation(t, io.Discard)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: s.gateway}
	go server.Serve(listener)
	defer server.Close()
	at := "http://" + listener.Addr().String()
	file := filepath.Join(t.TempDir(), "token")
	token := func(scope string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(deskToken(t, s, scope)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	token("export")
	for _, command := range [][]string{{"compact"}, {"clock", "--confirm"}} {
		if code, _, problem := commandLine(t, append(command, "--at", at, "--token-file", file)...); code != 1 || !strings.Contains(problem, "403") {
			t.Errorf("%q with a token for something else: %d %s", command, code, problem)
		}
	}
	token("upkeep")
	if code, out, problem := commandLine(t, "compact", "--at", at, "--token-file", file); code != 0 || !strings.Contains(out, "bytes written over") {
		t.Errorf("%d %s %s", code, out, problem)
	}
	if code, out, problem := commandLine(t, "clock", "--confirm", "--at", at, "--token-file", file); code != 0 || !strings.Contains(out, "believed; before") {
		t.Errorf("%d %s %s", code, out, problem)
	}
	if code, _, problem := commandLine(t, "compact", "--stopped", place.store()); code != 1 || !strings.Contains(problem, "in use") {
		t.Errorf("of a store in use: %d %s", code, problem)
	}
	notes, _, err := s.store.Notes(t.Context(), 0, 9)
	if err != nil || len(notes) < 2 || notes[0].Did != "confirmed the clock" || !strings.Contains(notes[1].Did, "written over") {
		t.Errorf("noted %+v, %v", notes, err)
	}
	if err := s.close(); err != nil {
		t.Fatal(err)
	}
	want := kept(t, place.store())
	if code, out, problem := commandLine(t, "compact", "--stopped", place.store()); code != 0 || !strings.Contains(out, "verified") {
		t.Errorf("at rest: %d %s %s", code, out, problem)
	}
	if got := kept(t, place.store()); len(got.checks) != len(want.checks) {
		t.Error("the store holds something else")
	}
	if err := bolt.VerifyFile(t.Context(), place.store()); err != nil {
		t.Error(err)
	}
}

// deskToken puts a token with one scope into a store, and returns the whole of it.
func deskToken(t *testing.T, s *station, scope string) string {
	t.Helper()
	digest := sha256.Sum256([]byte("a-secret-of-the-tests"))
	id := fmt.Sprintf("%x", sha256.Sum256([]byte(scope)))[:12]
	token := session.Account{
		ID: session.AccountID("token/" + id), Kind: session.DeskToken, Name: scope, Role: session.DeskViewer, Scopes: []string{scope},
		Secret: hex.EncodeToString(digest[:]), Expires: time.Now().Add(time.Hour),
	}
	if err := demo.Apply(t.Context(), s.store, session.Writes{Accounts: []session.Account{token}}); err != nil {
		t.Fatal(err)
	}
	return "threshline-" + id + "-a-secret-of-the-tests"
}
