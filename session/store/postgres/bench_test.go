package postgres_test

import (
	"context"
	"flag"
	"fmt"
	"slices"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres"
	"threshline/session/store/record"
	"threshline/session/store/storetest"
)

// callers is how many phones talk at once in the benchmarks.
var callers = []int{1, 32, 128, 512}

// BenchmarkExchangePostgres measures a dialogue's typical exchange, in turns with
// the ceiling: one batch that puts the same bytes by the same pool and the same
// synced commit. It gives the rate, its share of the ceiling's of the same run,
// what an exchange sends, and what it takes of processors, the server's included.
func BenchmarkExchangePostgres(b *testing.B) {
	besides(b, func(m, ceiling measured) measured { return m })
}

// BenchmarkCeilingPostgres is the ceiling's side of the same.
func BenchmarkCeilingPostgres(b *testing.B) {
	besides(b, func(m, ceiling measured) measured { return ceiling })
}

// measured is one side of a comparison.
type measured struct {
	rate, rounds, logged float64 // a second; of an exchange
	cpu                  time.Duration
}

// besides runs exchanges and the ceiling in turns, and reports one of them.
func besides(b *testing.B, which func(exchange, ceiling measured) measured) {
	for _, n := range callers {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) {
			url, options := fresh(b)
			s := open(b, url, options)
			if err := s.MakeBare(context.Background()); err != nil {
				b.Fatal(err)
			}
			const turns = 6
			each := max(b.N/turns, n)
			sides := [2]func(i int) error{
				func(i int) error { return typical(s, n, i) },
				func(i int) error { return s.Bare(context.Background(), string(storetest.Phone(i%n)), i) },
			}
			var took [2]time.Duration
			var all [2]measured
			for _, run := range sides {
				spread(b, n, 0, 4*n, run) // every phone has begun
			}
			b.ResetTimer()
			for turn := range turns {
				for i, run := range sides {
					rounds, written, used := s.Rounds(), logged(b), processors(b)
					took[i] += spread(b, n, 4*n+turn*each, each, run)
					all[i].rounds += float64(s.Rounds() - rounds)
					all[i].cpu += processors(b) - used
					all[i].logged += float64(logged(b) - written)
				}
			}
			count := float64(each * turns)
			for i := range all {
				all[i].rate = count / took[i].Seconds()
			}
			m := which(all[0], all[1])
			b.ReportMetric(m.rate, "exchanges/s")
			b.ReportMetric(all[0].rate/all[1].rate, "ratio")
			b.ReportMetric(float64(m.cpu.Microseconds())/count, "cpu-µs/exchange")
			b.ReportMetric(all[1].cpu.Seconds()/all[0].cpu.Seconds(), "cpu-ratio")
			b.ReportMetric(m.rounds/count, "round-trips/exchange")
			b.ReportMetric(m.logged/count, "WAL-B/exchange")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// processors is what this process and the server have used of processors.
func processors(b *testing.B) time.Duration {
	b.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano()+used.Stime.Nano()) + server(b).Processor()
}

// large is how many checks the benchmark of growth has in its large store.
var large = flag.Int("large", 1_000_000, "how many checks lie in the large store of BenchmarkGrowthPostgres")

// BenchmarkGrowthPostgres measures, in turns, the typical exchange over a store
// of a thousand checks and of many. It gives both rates, the small one's over
// the large one's, and what a check takes in the database.
func BenchmarkGrowthPostgres(b *testing.B) {
	const phones, turns = 32, 6
	var stores []*postgres.Store
	var schema string
	for _, n := range []int{1000, *large} {
		url, options := fresh(b)
		if err := postgres.Import(b.Context(), url, season(n), options, false); err != nil {
			b.Fatal(err)
		}
		stores, schema = append(stores, open(b, url, options)), options.Schema
	}
	each := max(b.N/turns, phones)
	var took [2]time.Duration
	for turn := range turns + 1 {
		for i, s := range stores {
			d := spread(b, phones, turn*each, each, func(i int) error { return typical(s, phones, i) })
			if turn > 0 { // by then every phone has begun
				took[i] += d
			}
		}
	}
	all := float64(each * turns)
	b.ReportMetric(all/took[0].Seconds(), "small/s")
	b.ReportMetric(all/took[1].Seconds(), "large/s")
	b.ReportMetric(took[1].Seconds()/took[0].Seconds(), "large/small")
	size, err := strconv.ParseFloat(server(b).Run(b, "postgres", "select pg_total_relation_size('"+schema+".checks')"), 64)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(size/float64(*large), "B/check")
	b.ReportMetric(0, "ns/op")
}

// season is a store of n checks, of a grower for each ten.
func season(n int) record.Things {
	return func(yield func(record.Thing) error) error {
		if err := yield(record.Thing{Counted: &record.Counted{Secret: make([]byte, 32), Dialogues: 1, Checks: uint64(n), Notes: 1}}); err != nil {
			return err
		}
		for i := range n {
			k := storetest.Check(i, storetest.PersonID(i%(n/10+1)), storetest.PersonID(i%300))
			k.Slip, k.Version, k.Position = session.Slip(fmt.Sprintf("L%x", uint64(i)*0x9e3779b97f4a7c15)), 1, uint64(i+1)
			if err := yield(record.Thing{Check: &k}); err != nil {
				return err
			}
		}
		return nil
	}
}

// BenchmarkHalfLoadPostgres sends at half the rate that was reached just before,
// and gives what the slowest hundredth waited for, from when it was due, beside
// the same of the ceiling.
func BenchmarkHalfLoadPostgres(b *testing.B) {
	const phones = 32
	url, options := fresh(b)
	s := open(b, url, options)
	if err := s.MakeBare(b.Context()); err != nil {
		b.Fatal(err)
	}
	bare := func(i int) error { return s.Bare(b.Context(), string(storetest.Phone(i%phones)), i) }
	full := func(i int) error { return typical(s, phones, i) }
	n := max(b.N, 10*phones)
	for name, run := range map[string]func(int) error{"p99-ms": full, "ceiling-p99-ms": bare} {
		pace := 2 * spread(b, phones, 0, n, run) / time.Duration(n) * phones // of one phone
		var mu sync.Mutex
		var waited []time.Duration
		begin := time.Now()
		spread(b, phones, n, n, func(i int) error {
			due := begin.Add(time.Duration((i-n)/phones) * pace)
			time.Sleep(time.Until(due))
			err := run(i)
			mu.Lock()
			waited = append(waited, time.Since(due))
			mu.Unlock()
			return err
		})
		slices.Sort(waited)
		b.ReportMetric(float64(waited[len(waited)*99/100].Microseconds())/1000, name)
	}
	b.ReportMetric(0, "ns/op")
}

// logged is how many bytes the server has written to its log.
func logged(b *testing.B) int64 {
	b.Helper()
	n, err := strconv.ParseInt(server(b).Run(b, "postgres", "select pg_wal_lsn_diff(pg_current_wal_lsn(), '0/0')::bigint"), 10, 64)
	if err != nil {
		b.Fatal(err)
	}
	return n
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
		w := session.Writes{Dialogue: &d, Reply: session.Reply{Text: "Red grains of the 100 on the pan, or ? for how to see them.\n0 back", More: true}}
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
