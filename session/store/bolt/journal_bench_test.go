package bolt_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// BenchmarkJournal is BenchmarkExchange with a journal beside the store, on
// the same disk: what the second sync costs.
func BenchmarkJournal(b *testing.B) {
	for _, n := range callers {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) {
			dir := b.TempDir()
			s, err := bolt.Open(filepath.Join(dir, "store.db"), bolt.Options{Journal: filepath.Join(dir, "journal")})
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			spread(b, n, func(caller, i int) error { return typical(s, caller, i) })
		})
	}
}

// BenchmarkRebuild makes a store of a journal of 100,000 checks.
func BenchmarkRebuild(b *testing.B) {
	const checks = 100_000
	dir := b.TempDir()
	path := filepath.Join(dir, "journal")
	s, err := bolt.Open(filepath.Join(dir, "store.db"), bolt.Options{Journal: path})
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; i < checks; i += 1000 {
		var w session.Writes
		for j := i; j < i+1000; j++ {
			k := storetest.Check(j, storetest.PersonID(j%500), storetest.PersonID(j%500))
			k.Slip = session.Slip(fmt.Sprintf("S%x", uint64(j)*0x9e3779b97f4a7c15))
			w.Checks = append(w.Checks, k)
		}
		if _, err := s.Exchange(b.Context(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
			b.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		file, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := bolt.Rebuild(b.Context(), filepath.Join(dir, "rebuilt.db"), nil, file, true); err != nil {
			b.Fatal(err)
		}
		file.Close()
	}
	b.ReportMetric(checks*float64(b.N)/b.Elapsed().Seconds(), "checks/s")
}
