package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/session/store/bolt"
)

// copier stands for a store: its backups hold what it holds.
type copier struct {
	text string
	err  error
}

func (c *copier) BackupFile(_ context.Context, path string) error {
	if c.err != nil {
		_ = os.WriteFile(path+".part", []byte(c.text), 0o600)
		return c.err
	}
	return os.WriteFile(path, []byte(c.text), 0o600)
}

func TestPlannedBackups(t *testing.T) {
	plan := &backupPlan{dir: filepath.Join(t.TempDir(), "backups"), every: 24 * time.Hour, keep: 3}
	store := &copier{text: "whole"}
	at := time.Date(2026, 11, 2, 3, 0, 0, 0, time.FixedZone("", 3*3600))
	step := func(name string, after time.Duration, made bool, have int) {
		t.Helper()
		at = at.Add(after)
		path, _, err := plan.round(t.Context(), store, at, atOnce)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		list, err := plan.list()
		if err != nil || (path != "") != made || len(list) != have {
			t.Errorf("%s: made %q, %d are there, %v", name, path, len(list), err)
		}
		if made {
			if _, err := os.Stat(path); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	step("the first", 0, true, 1)
	step("an hour later", time.Hour, false, 1)
	step("the next day", 23*time.Hour, true, 2)
	step("the third", 25*time.Hour, true, 3)
	step("the fourth takes the place of the first", 24*time.Hour, true, 3)
	step("the clock was set back a year: one is due at once", -365*24*time.Hour, true, 4)
	step("an hour later", time.Hour, false, 4)
	step("a day later", 24*time.Hour, true, 5)
	step("and on", 24*time.Hour, true, 6)
	step("those of that year keep to their number", 24*time.Hour, true, 6)
	step("the clock is right again", 366*24*time.Hour, true, 3)
}

func TestWhatABackupThatFailedLeftIsRemoved(t *testing.T) {
	plan := &backupPlan{dir: t.TempDir(), every: time.Hour, keep: 2}
	store := &copier{text: "half", err: errors.New("no room")}
	at := time.Date(2026, 11, 2, 3, 0, 0, 0, time.UTC)
	other := filepath.Join(plan.dir, "notes.txt")
	if err := os.WriteFile(other, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, _, err := plan.round(t.Context(), store, at, atOnce); err == nil {
			t.Fatal("no error")
		}
		at = at.Add(time.Minute)
	}
	store.err = nil
	if made, _, err := plan.round(t.Context(), store, at, atOnce); made == "" || err != nil {
		t.Fatal(made, err)
	}
	entries, err := os.ReadDir(plan.dir)
	if err != nil || len(entries) != 2 {
		t.Errorf("want the backup and the notes, found %v, %v", entries, err)
	}
}

// A program that ends between making a backup and dropping the oldest, time
// after time, leaves too many: the next round drops them before it needs room.
func TestBackupsThatWereNotDroppedGoFirst(t *testing.T) {
	plan := &backupPlan{dir: t.TempDir(), every: time.Hour, keep: 2}
	at := time.Date(2026, 11, 2, 3, 0, 0, 0, time.UTC)
	generous := *plan
	generous.keep = 9
	for range 5 {
		if made, _, err := generous.round(t.Context(), &copier{text: "whole"}, at, atOnce); made == "" || err != nil {
			t.Fatal(made, err)
		}
		at = at.Add(time.Hour)
	}
	if _, dropped, err := plan.round(t.Context(), &copier{err: errors.New("no room")}, at, atOnce); err == nil || dropped != 3 {
		t.Errorf("dropped %d of 5, %v; want 3 and the fault", dropped, err)
	}
	left, err := plan.list()
	if err != nil || len(left) != plan.keep || !left[1].Equal(at.Add(-time.Hour)) {
		t.Errorf("left %v, %v; want the newest two", left, err)
	}
}

// commandLine runs the command line and returns what it printed.
func commandLine(t *testing.T, args ...string) (code int, out, problem string) {
	t.Helper()
	var o, p bytes.Buffer
	code = run(t.Context(), args, stdio{strings.NewReader(""), &o, &p})
	return code, o.String(), p.String()
}

func TestBackupAndRestoreByHand(t *testing.T) {
	s := newSite(t, program{}, "127.0.0.1:1")
	if code, _, problem := commandLine(t, "backup", "--config", s.config(), "--to", filepath.Join(s.dir, "none.db")); code != 1 || isThere(s.store()) {
		t.Errorf("with no store: %d %s", code, problem)
	}
	fill(t, s)
	want := kept(t, s.store())
	to := filepath.Join(s.dir, "backup.db")
	if code, out, problem := commandLine(t, "backup", "--config", s.config(), "--to", to); code != 0 || !strings.Contains(out, "verified") {
		t.Fatalf("%d %s %s", code, out, problem)
	}
	if code, _, problem := commandLine(t, "backup", "--config", s.config(), "--to", to); code != 1 || !strings.Contains(problem, "--overwrite") {
		t.Errorf("over another file: %d %s", code, problem)
	}
	if code, _, problem := commandLine(t, "restore", "--config", s.config(), "--from", to); code != 1 || !strings.Contains(problem, "--overwrite") {
		t.Errorf("over a store: %d %s", code, problem)
	}
	held, err := bolt.Open(s.store(), bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if code, _, problem := commandLine(t, "backup", "--config", s.config(), "--to", to, "--overwrite"); code != 1 || !strings.Contains(problem, "--token") {
		t.Errorf("of a store in use: %d %s", code, problem)
	}
	if code, _, problem := commandLine(t, "restore", "--config", s.config(), "--from", to, "--overwrite"); code != 1 || !strings.Contains(problem, "stop the gateway") {
		t.Errorf("over a store in use: %d %s", code, problem)
	}
	if err := held.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(s.store(), []byte("what is left of a store"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, problem := commandLine(t, "restore", "--config", s.config(), "--from", to, "--overwrite"); code != 0 {
		t.Fatalf("%d %s", code, problem)
	}
	if got := kept(t, s.store()); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Error("the restored store is another")
	}
	if code, _, problem := commandLine(t, "restore", "--config", s.config(), "--from", s.config(), "--overwrite"); code != 1 || problem == "" || fmt.Sprint(kept(t, s.store())) != fmt.Sprint(want) {
		t.Errorf("from a file that is no backup: %d %s", code, problem)
	}
}

// fill files the invented season in a site's store.
func fill(t *testing.T, s *site) {
	t.Helper()
	cfg, err := config.Load(s.config())
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := cfg.Build()
	if err != nil {
		t.Fatal(err)
	}
	store, err := bolt.Open(s.store(), storeOptions(cfg))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := demo.File(t.Context(), store, p, time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
}

func isThere(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// atOnce ends work that no other gateway can take over.
func atOnce() error { return nil }
