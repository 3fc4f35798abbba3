package main

import (
	"path/filepath"
	"strings"
	"testing"

	"threshline/cmd/threshline/load"
)

// The phones that measure must be at real work: they file checks, whatever
// screens the programme has.
func TestThePhonesThatMeasureFileChecks(t *testing.T) {
	cfg, err := loadConfigOrDemo("")
	if err != nil {
		t.Fatal(err)
	}
	channel, err := cfg.channel("valley-ussd")
	if err != nil {
		t.Fatal(err)
	}
	g, err := openForLoad(t.Context(), filepath.Join(t.TempDir(), "store.db"))
	if err != nil {
		t.Fatal(err)
	}
	filed, err := load.NewCrew(g.Base, channel, 3).Send(t.Context(), 35)
	for number, checks := range filed {
		if checks < 2 {
			t.Errorf("%s filed %d checks in 35 entries", number, checks)
		}
	}
	if err != nil || len(filed) != 3 {
		t.Errorf("%d phones, %v", len(filed), err)
	}
	if err := g.Stop(); err != nil {
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
