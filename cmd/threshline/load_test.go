package main

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rs/zerolog"
)

// The phones that measure must be at real work: they file checks, whatever
// screens the programme has.
func TestThePhonesThatMeasureFileChecks(t *testing.T) {
	cfg, err := loadConfigOrDemo("")
	if err != nil {
		t.Fatal(err)
	}
	cfg.Programme.Languages = []string{"en"}
	s, err := openStation(cfg, filepath.Join(t.TempDir(), "store.db"), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	listener, err := listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.run(ctx, listener) }()
	c, err := newCrew("http://"+listener.Addr().String(), 3)
	if err != nil {
		t.Fatal(err)
	}
	for range 35 {
		for _, l := range c.phones {
			if err := l.talk(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, l := range c.phones {
		if l.checks < 2 {
			t.Errorf("%s filed %d checks in 35 entries; it stands at %q", l.number, l.checks, l.screen)
		}
	}
	stop()
	if err := <-done; err != nil {
		t.Error(err)
	}
	if err := s.close(); err != nil {
		t.Error(err)
	}
}

func TestLoadPrintsALineForEachCrew(t *testing.T) {
	code, out, problem := commandLine(t, "load", "--for", "40ms", "--phones", "1,3")
	if lines := strings.Split(strings.TrimSpace(out), "\n"); code != 0 || len(lines) != 3 || len(strings.Fields(lines[1])) != 11 {
		t.Errorf("%d %s%s", code, out, problem)
	}
	if code, _, _ := commandLine(t, "load", "--phones", "20000"); code != 1 {
		t.Errorf("more phones than numbers: %d", code)
	}
}

// The unit starts the command with flags that it has, and takes away what it
// does not need.
func TestTheUnitFile(t *testing.T) {
	code, out, _ := commandLine(t, "unit")
	if code != 0 {
		t.Fatal(code)
	}
	have := map[string]string{}
	for line := range strings.Lines(out) {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' || line[0] == '[' {
			continue
		}
		key, value, ok := strings.Cut(line, "=")
		if !ok {
			t.Errorf("%q is no setting", line)
		}
		have[key] = value
	}
	for key, want := range map[string]string{
		"NoNewPrivileges": "yes", "ProtectSystem": "strict", "DynamicUser": "yes", "CapabilityBoundingSet": "",
		"MemoryDenyWriteExecute": "yes", "UMask": "0077", "PrivateDevices": "yes", "Restart": "always",
	} {
		if got, ok := have[key]; !ok || got != want {
			t.Errorf("%s=%q, want %q", key, got, want)
		}
	}
	words := strings.Fields(have["ExecStart"])
	if len(words) != 4 || words[1] != "serve" || words[2] != "--config" {
		t.Fatalf("ExecStart=%q", have["ExecStart"])
	}
	config := newSite(t, program{}, "127.0.0.1:1").config() + "-none"
	if code, _, problem := commandLine(t, words[1], words[2], config); code != 2 || !strings.Contains(problem, "--config") {
		t.Errorf("%d %s", code, problem) // the flag is known; the file is not there
	}
}
