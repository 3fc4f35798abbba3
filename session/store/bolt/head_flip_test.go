package bolt_test

import (
	"os"
	"path/filepath"
	"testing"

	"threshline/session/store/bolt"
)

// A store whose journal holds nothing yet opens with one bit of its head changed.
func TestAFlipInTheHeadOfAnEmptyJournalKeepsNobodyOut(t *testing.T) {
	dir := t.TempDir()
	options := bolt.Options{Journal: filepath.Join(dir, "threshline.journal")}
	open := func() {
		t.Helper()
		s, err := bolt.Open(filepath.Join(dir, "threshline.db"), options)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	open()
	data, err := os.ReadFile(options.Journal)
	if err != nil || len(data) == 0 {
		t.Fatalf("%d bytes, %v", len(data), err)
	}
	for at := range data {
		flipped := append([]byte(nil), data...)
		flipped[at] ^= 1
		if err := os.WriteFile(options.Journal, flipped, 0o600); err != nil {
			t.Fatal(err)
		}
		open()
	}
}
