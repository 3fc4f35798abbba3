package bolt_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// BenchmarkGrowth measures a typical exchange of 32 phones on stores of very
// different size, and says how large the file is, how long it takes to open
// and how fast its checks are read one after the other. At the end both stores
// work in turns, so that both see the same disk and the same neighbours: growth
// is what an exchange costs on the large one, as a multiple.
func BenchmarkGrowth(b *testing.B) {
	grown := []*grownStore{grownTo(b, 1_000), grownTo(b, 1_000_000)}
	for _, g := range grown {
		b.Run(fmt.Sprintf("checks=%d", g.checks), func(b *testing.B) {
			written := g.store.Written()
			b.ReportAllocs()
			b.ResetTimer()
			g.exchanges(b, b.N)
			b.StopTimer()
			b.ReportMetric(float64(g.size)/(1<<20), "MiB")
			b.ReportMetric(float64(g.store.Written()-written)/float64(b.N), "disk-B/op")
			b.ReportMetric(float64(g.opened.Milliseconds()), "open-ms")
			b.ReportMetric(g.read, "checks-read/s")
		})
	}
	b.Run("in turns", func(b *testing.B) {
		const turns = 20
		var took [2]time.Duration
		for turn := range turns {
			share := b.N*(turn+1)/turns - b.N*turn/turns
			for i, g := range grown {
				began := time.Now()
				g.exchanges(b, share)
				took[i] += time.Since(began)
			}
		}
		b.ReportMetric(took[1].Seconds()/took[0].Seconds(), "growth")
	})
}

// grownStore is a store that holds so many checks.
type grownStore struct {
	store  *bolt.Store
	checks int
	size   int64 // of the file, bytes
	opened time.Duration
	read   float64 // checks a second
	done   int     // messages so far: none may be taken for a redelivery
}

func grownTo(b *testing.B, checks int) *grownStore {
	b.Helper()
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
	g := &grownStore{checks: checks, size: info.Size()}
	began := time.Now()
	g.store = open(b, path)
	g.opened = time.Since(began)
	began = time.Now()
	readAll(b, g.store, checks)
	g.read = float64(checks) / time.Since(began).Seconds()
	return g
}

func (g *grownStore) exchanges(b *testing.B, n int) {
	b.Helper()
	before := g.done
	spreadOver(b, 32, n, func(caller, i int) error { return typical(g.store, caller, before+i) })
	g.done += n
}

// grow files n checks of n/10 growers and 200 agents.
func grow(b *testing.B, s *bolt.Store, n int) {
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

func readAll(b *testing.B, s *bolt.Store, want int) {
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
