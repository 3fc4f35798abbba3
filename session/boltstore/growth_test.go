package boltstore_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/boltstore"
	"threshline/session/storetest"
)

// BenchmarkGrowth measures a typical exchange of 32 phones on stores of very
// different size, and says how large the file is, how long it takes to open
// and how fast its checks are read one after the other.
func BenchmarkGrowth(b *testing.B) {
	for _, checks := range []int{1_000, 1_000_000} {
		path := filepath.Join(b.TempDir(), "store.db")
		s := open(b, path)
		grow(b, s, checks)
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
		info, err := os.Stat(path)
		if err != nil {
			b.Fatal(err)
		}
		began := time.Now()
		s = open(b, path)
		opened := time.Since(began)
		began = time.Now()
		readAll(b, s, checks)
		read := time.Since(began)
		before := 0 // messages of earlier rounds: none may be taken for a redelivery
		b.Run(fmt.Sprintf("checks=%d", checks), func(b *testing.B) {
			written := s.Written()
			spread(b, 32, func(caller, i int) error { return typical(s, caller, before+i) })
			before += b.N
			b.ReportMetric(float64(info.Size())/(1<<20), "MiB")
			b.ReportMetric(float64(s.Written()-written)/float64(b.N), "disk-B/op")
			b.ReportMetric(float64(opened.Milliseconds()), "open-ms")
			b.ReportMetric(float64(checks)/read.Seconds(), "checks-read/s")
		})
	}
}

// grow files n checks of n/10 growers and 200 agents.
func grow(b *testing.B, s *boltstore.Store, n int) {
	b.Helper()
	slice := min(n, 50_000) // few commits: each rewrites most pages of the indexes
	for i := 0; i < n; i += slice {
		var w session.Writes
		for j := i; j < i+slice; j++ {
			k := storetest.Check(j, storetest.PersonID(int(uint64(j)*0x9e3779b97f4a7c15>>40)%(n/10)), storetest.PersonID(j%200))
			k.Slip = session.Slip(fmt.Sprintf("G%x", uint64(j)*0x9e3779b97f4a7c15))
			w.Checks = append(w.Checks, k)
		}
		if _, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
			b.Fatal(err)
		}
	}
}

func readAll(b *testing.B, s *boltstore.Store, want int) {
	b.Helper()
	n, after := 0, uint64(0)
	for {
		list, err := s.Filed(context.Background(), after, 2000)
		if err != nil {
			b.Fatal(err)
		}
		if len(list) == 0 {
			break
		}
		n += len(list)
		after = list[len(list)-1].Position
	}
	if n != want {
		b.Fatalf("%d checks, want %d", n, want)
	}
}
