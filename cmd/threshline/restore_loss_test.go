package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// One bit of the journal costs one record, and a restore that could not read all
// of it ends with a fault that says where and how much.
func TestARestoreSaysWhatTheJournalLost(t *testing.T) {
	s := newSite(t, program{}, "127.0.0.1:1")
	fill(t, s)
	journal := filepath.Join(s.dir, "threshline.journal")
	data, err := os.ReadFile(journal)
	if err != nil {
		t.Fatal(err)
	}
	data[37] ^= 0x80 // the length of the first record
	if err := os.WriteFile(journal, data, 0o600); err != nil {
		t.Fatal(err)
	}
	want := kept(t, s.store())
	code, out, problem := commandLine(t, "restore", "--config", s.config(), "--from-journal", journal, "--overwrite")
	if code != 1 || !strings.Contains(problem, " bytes at 37;") || !strings.Contains(problem, "the store is in place") {
		t.Errorf("%d %s %s", code, out, problem)
	}
	if got := kept(t, s.store()); len(got.checks) < len(want.checks)-1 {
		t.Errorf("%d checks are left of %d", len(got.checks), len(want.checks))
	}
}
