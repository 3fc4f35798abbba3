package bolt_test

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// callers is how many phones talk at once in the benchmarks.
var callers = []int{1, 32, 128, 512}

// BenchmarkExchange measures a dialogue's typical exchange: the dialogue of a
// phone is read, moved on and stored with the reply and a duplicate key; every
// twelfth files a check. BenchmarkBare is its ceiling.
func BenchmarkExchange(b *testing.B) {
	for _, n := range callers {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) {
			s := open(b, filepath.Join(b.TempDir(), "store.db"))
			spread(b, n, func(caller, i int) error { return typical(s, caller, i) })
		})
	}
}

// BenchmarkBare puts the bytes of a typical exchange through the same commit.
func BenchmarkBare(b *testing.B) {
	for _, n := range callers {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) {
			s := open(b, filepath.Join(b.TempDir(), "store.db"))
			value := make([]byte, 420)
			spread(b, n, func(caller, i int) error {
				return s.Bare(context.Background(), fmt.Appendf(nil, "%s%d", storetest.Phone(caller), i), value)
			})
		})
	}
}

// typical is exchange i of a caller.
func typical(s *bolt.Store, caller, i int) error {
	phone := storetest.Phone(caller)
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
		w := session.Writes{Dialogue: &d, Reply: session.Reply{Text: "Red grains of the 100 on the pan, or ? for how to see them.\n0 back", More: true}}
		if i%12 == 0 {
			w.Checks = []session.Check{storetest.Check(i, storetest.PersonID(caller), storetest.PersonID(caller))}
			w.Checks[0].Slip = session.Slip(fmt.Sprintf("S%x", uint64(i)*0x9e3779b97f4a7c15))
		}
		return w, nil
	})
	return err
}

// spread has n callers share b.N runs of one function and reports the rate.
func spread(b *testing.B, n int, run func(caller, i int) error) {
	b.Helper()
	b.ReportAllocs()
	b.ResetTimer()
	spreadOver(b, n, b.N, run)
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "exchanges/s")
}

// spreadOver has n callers share the runs.
func spreadOver(b *testing.B, n, runs int, run func(caller, i int) error) {
	b.Helper()
	var next atomic.Int64
	var all sync.WaitGroup
	for caller := range n {
		all.Go(func() {
			for i := next.Add(1); i <= int64(runs); i = next.Add(1) {
				if err := run(caller, int(i)); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	all.Wait()
}
