package main

import (
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/load"
	"threshline/session/store/postgres/cluster"
)

// The phones that measure must be at real work: they file checks, whatever
// screens the programme has.
func TestThePhonesThatMeasureFileChecks(t *testing.T) {
	cfg, err := config.LoadOrDemo("")
	if err != nil {
		t.Fatal(err)
	}
	channel, err := cfg.Channel("valley-ussd")
	if err != nil {
		t.Fatal(err)
	}
	s, err := openForLoad(t.Context(), "", filepath.Join(t.TempDir(), "store.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	server := httptest.NewServer(s.gateway)
	defer server.Close()
	filed, err := load.NewCrew(server.URL, channel, 3).Send(t.Context(), 35)
	for number, checks := range filed {
		if checks < 2 {
			t.Errorf("%s filed %d checks in 35 entries", number, checks)
		}
	}
	if err != nil || len(filed) != 3 {
		t.Errorf("%d phones, %v", len(filed), err)
	}
}

// In turns, a fresh gateway, a full one and two bare routers, of which the second
// puts what an exchange of the fresh one does.
func TestLoadMeasuresBesideItsCeilings(t *testing.T) { measureBesideCeilings(t, false, "1,3") }

// The same over a database, which afterwards is as it was before.
func TestLoadMeasuresADatabaseBesideItsCeilings(t *testing.T) {
	server := cluster.Start(t, "fsync=off")
	t.Setenv("DATABASE_URL", server.URL("postgres"))
	measureBesideCeilings(t, true, "3", "--url", "env:DATABASE_URL")
	if left := server.Run(t, "postgres", "select nspname from pg_namespace where nspname like 'load%'"); left != "" {
		t.Errorf("schemas are left behind: %s", left)
	}
}

func measureBesideCeilings(t *testing.T, shared bool, phones string, more ...string) {
	t.Helper()
	code, out, problem := commandLine(t, append([]string{"load", "--program", "threshline", "--for", "50ms", "--phones", phones, "--season", "700", "--export", "--json"}, more...)...)
	var list []load.Measured
	for lines := json.NewDecoder(strings.NewReader(out)); lines.More(); {
		var m load.Measured
		if err := lines.Decode(&m); err != nil {
			t.Fatal(err)
		}
		list = append(list, m)
	}
	at := strings.Split(phones, ",")
	if code != 0 || len(list) != 4*len(at) || problem != "" {
		t.Fatalf("%d, %d parts, %s%s", code, len(list), out, problem)
	}
	for i, m := range list {
		if e := m.Export; (i%4 == 1) != (e != nil) || e != nil && (e.Bytes < 100_000 || e.Alone <= 0 || e.Beside <= 0 || e.P99 < e.P50) {
			t.Errorf("part %d: an export %+v", i, e)
		}
		whole := i%4 < 2
		if strconv.Itoa(m.Phones) != at[i/4] || m.Rate <= 0 || m.P99 < m.P50 || m.CPU <= 0 || m.Disk <= 0 || m.Own <= 0 {
			t.Errorf("part %d: %+v", i, m)
		}
		if whole != (m.OfSmall > 0) || whole != (m.OfEqual > 0) || (i%4 == 1) != (m.OfFresh > 0) || whole != (m.Put > 0) {
			t.Errorf("part %d is beside what it should not be: %+v", i, m)
		}
		if shared && whole != (m.Trips > 0) || !shared && m.Trips != 0 {
			t.Errorf("part %d made %.2f round trips an exchange", i, m.Trips)
		}
		if what := []string{"fresh", "full", "bare, 300 B", "bare, "}[i%4]; !strings.HasPrefix(m.What, what) {
			t.Errorf("part %d is %q, want %q", i, m.What, what)
		}
	}
	var equal int
	if _, err := fmt.Sscanf(list[3].What, "bare, %d B", &equal); err != nil || equal < map[bool]int{false: 500, true: 300}[shared] || equal > 5000 {
		t.Errorf("the equal put is %d bytes, %v", equal, err)
	}
}

func TestLoadPrintsATable(t *testing.T) {
	code, out, problem := commandLine(t, "load", "--program", "threshline", "--for", "40ms", "--phones", "1")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if code != 0 || len(lines) != 4 {
		t.Fatalf("%d %s%s", code, out, problem)
	}
	for _, line := range lines[1:] {
		if len(line) != len(lines[0]) {
			t.Errorf("the columns of %q do not stand under\n%s", line, lines[0])
		}
	}
	for _, wrong := range [][]string{{"--phones", "20000"}, {"--season=-1"}, {"--for", "0s"}} {
		if code, _, _ := commandLine(t, append([]string{"load"}, wrong...)...); code != 1 {
			t.Errorf("%q: %d", wrong, code)
		}
	}
}
