package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"threshline/cmd/threshline/demo"
	"threshline/session"
	"threshline/session/store/bolt"
)

// TestTheRosterGoesThroughTheRunningGateway brings people in from the terminal
// while the gateway has the store, and takes them out again.
func TestTheRosterGoesThroughTheRunningGateway(t *testing.T) {
	s, base := servedSeason(t)
	way := rosterWay{At: base, TokenFile: tokenOf(t, s, base, "roster", "identified")}
	bring := func(dry bool, csv string) (string, error) {
		var out bytes.Buffer
		cmd := rosterImportCmd{rosterWay: way, DryRun: dry, File: "-"}
		err := cmd.Run(t.Context(), stdio{in: strings.NewReader(csv), out: &out})
		return out.String(), err
	}
	written := func() string {
		var out bytes.Buffer
		if err := (&rosterExportCmd{way}).Run(t.Context(), stdio{out: &out}); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	const good = "role,number,name,district\nagent,+33639985001,Rehema Jembe,Kisima\n"
	if said, err := bring(true, good); err != nil || said != "dry run, nothing was changed: 1 added, 0 changed, 0 as they were\n" {
		t.Errorf("a dry run: %q, %v", said, err)
	}
	said, err := bring(false, good+"agent,12,Nobody,Kisima\ngrowr,,B,Nowhere\n")
	var why *fault
	if !errors.As(err, &why) || why.hint != correctRoster || said != "" ||
		!strings.Contains(err.Error(), "line 3, number: ") || !strings.Contains(err.Error(), "\nline 4, role: ") {
		t.Errorf("a file with faults: %q, %v", said, err)
	}
	before := written()
	if strings.Contains(before, "Rehema Jembe") || !strings.Contains(before, "Asha Mbeyu") {
		t.Error("after a dry run and a fault somebody is in, or the roster is empty")
	}
	for _, want := range []string{"1 added, 0 changed, 0 as they were\n", "0 added, 0 changed, 1 as they were\n"} {
		if said, err := bring(false, good); err != nil || said != want {
			t.Errorf("a good file: %q, %v; want %q", said, err, want)
		}
	}
	if after := written(); strings.Count(after, "\n") != strings.Count(before, "\n")+1 || !strings.Contains(after, "agent,+33639985001,Rehema Jembe,Kisima") {
		t.Error("the roster lacks who was brought in")
	}
	if !slices.ContainsFunc(notesOf(t, s), func(n session.AuditNote) bool { return strings.Contains(n.Did+n.Subject, "the roster with numbers") }) {
		t.Error("the audit log does not know that the roster was read")
	}
}

func TestTheRosterNeedsATokenForIt(t *testing.T) {
	s, base := servedSeason(t)
	way := rosterWay{At: base, TokenFile: tokenOf(t, s, base, "roster")}
	var out bytes.Buffer
	err := (&rosterExportCmd{way}).Run(t.Context(), stdio{out: &out})
	if err == nil || !strings.Contains(err.Error(), "403") || !strings.Contains(err.Error(), "identified") || out.Len() != 0 {
		t.Errorf("without the scope: %q, %v", out.String(), err)
	}
	way.TokenFile = filepath.Join(t.TempDir(), "none")
	if err := (&rosterExportCmd{way}).Run(t.Context(), stdio{out: &out}); err == nil || out.Len() != 0 {
		t.Error("without a token the roster came out")
	}
}

func TestAStoreInUseIsNotOpenedForARoster(t *testing.T) {
	path := filepath.Join(t.TempDir(), "valley.toml")
	if err := os.WriteFile(path, []byte(demo.Config), 0o600); err != nil {
		t.Fatal(err)
	}
	_, store, err := openStore(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	err = (&rosterExportCmd{rosterWay{Stopped: path}}).Run(t.Context(), stdio{out: &out})
	var why *fault
	if !errors.Is(err, bolt.ErrLocked) || !errors.As(err, &why) || !strings.Contains(why.hint, "--token-file") {
		t.Errorf("a store in use: %v", err)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	if err := (&rosterExportCmd{rosterWay{Stopped: path}}).Run(t.Context(), stdio{out: &out}); err != nil || !strings.HasPrefix(out.String(), "role,number,name") {
		t.Errorf("a store at rest: %q, %v", out.String(), err)
	}
}
