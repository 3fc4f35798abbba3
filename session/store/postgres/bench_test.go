package postgres_test

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres"
	"threshline/session/store/storetest"
)

// callers is how many phones talk at once in the benchmarks.
var callers = []int{1, 32, 128, 512}

// BenchmarkExchangePostgres measures a dialogue's typical exchange, and in
// turns with it the ceiling: one batch that puts the same bytes by the same
// pool and the same synced commit. It gives both rates and their ratio, and
// what an exchange sends.
func BenchmarkExchangePostgres(b *testing.B) {
	for _, n := range callers {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) {
			url, options := fresh(b)
			s := open(b, url, options)
			if err := s.MakeBare(context.Background()); err != nil {
				b.Fatal(err)
			}
			run := func(i int) error { return typical(s, n, i) }
			bare := func(i int) error { return s.Bare(context.Background(), string(storetest.Phone(i%n)), i) }
			const turns = 6
			spread(b, n, 0, 4*n, run) // every phone has begun
			spread(b, n, 0, 4*n, bare)
			rounds := s.Rounds()
			var took, ceiling time.Duration
			each := max(b.N/turns, n)
			b.ResetTimer()
			for turn := range turns {
				took += spread(b, n, 4*n+turn*each, each, run)
				ceiling += spread(b, n, 4*n+turn*each, each, bare)
			}
			all := float64(each * turns)
			b.ReportMetric(all/took.Seconds(), "exchanges/s")
			b.ReportMetric(all/ceiling.Seconds(), "ceiling/s")
			b.ReportMetric(ceiling.Seconds()/took.Seconds(), "ratio")
			b.ReportMetric(float64(s.Rounds()-rounds)/all, "statements/exchange")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// typical is exchange i: the dialogue of one of n phones is read, moved on and
// stored with the reply and a duplicate key; every twelfth files a check.
func typical(s *postgres.Store, n, i int) error {
	phone := storetest.Phone(i % n)
	key := session.Key{Phone: phone, Duplicate: fmt.Sprintf("valley-ussd %d", i), KeepUntil: storetest.Begin.Add(time.Duration(i) * time.Millisecond)}
	_, err := s.Exchange(context.Background(), key, func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(phone)
		if err != nil {
			return session.Writes{}, err
		}
		if d.Version == 0 {
			d = storetest.Dialogue(phone)
		}
		d.Page = i
		d.Expires = storetest.Begin.Add(24*time.Hour + time.Duration(i)*time.Millisecond)
		w := session.Writes{Dialogue: &d, Reply: session.Reply{Text: "Red kernels of the 100 on the pan, or ? for how to see them.\n0 back", More: true}}
		if i%12 == 0 {
			w.Checks = []session.Check{storetest.Check(i, storetest.PersonID(i%n), storetest.PersonID(i%n))}
			w.Checks[0].Slip = session.Slip(fmt.Sprintf("S%x", uint64(i)*0x9e3779b97f4a7c15))
		}
		return w, nil
	})
	return err
}

// spread has n callers share runs of one function, each those of its phone, and
// returns how long it took.
func spread(b *testing.B, n, from, runs int, run func(i int) error) time.Duration {
	b.Helper()
	begin := time.Now()
	var all sync.WaitGroup
	var failed atomic.Bool
	for caller := range n {
		all.Go(func() {
			for i := from + caller; i < from+runs && !failed.Load(); i += n {
				if err := run(i); err != nil {
					failed.Store(true)
					b.Error(err)
				}
			}
		})
	}
	all.Wait()
	return time.Since(begin)
}
