package gateway_test

import (
	"fmt"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway"
	"threshline/gateway/bare"
	"threshline/gateway/carrier"
	"threshline/grading"
	"threshline/grading/standard"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/store/bolt"
	"threshline/session/talk"
	"threshline/session/wording"
)

// phones is how many phones talk at once.
var phones = []int{1, 32, 128, 512}

// typicalBytes is, beside a key as long as a request's body, what one exchange
// of a check puts on average: its dialogue with the last answers behind it
// (1,230 bytes), and now and then a check with its indexes and reminders, or
// answers that move out. Measured over the records of a store after 40 exchanges
// of each phone, 1,400 with the key.
const typicalBytes = 1330

// paceFor is how long the run at half load takes.
const paceFor = 2 * time.Second

// BenchmarkExchange measures whole exchanges: HTTP over loopback, the dialogue
// with all its screens, lots graded and filed, each exchange committed and
// synced to disk before it is answered. p50 and p99 are at half that load.
func BenchmarkExchange(b *testing.B) {
	for _, n := range phones {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) { measure(b, n, wholeOver) })
	}
}

// BenchmarkCeiling is what BenchmarkExchange is measured against: the same
// requests through the same router, and a bare put of as many bytes through
// the same grouped and synced commit.
func BenchmarkCeiling(b *testing.B) {
	for _, n := range phones {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) { measure(b, n, bareOver) })
	}
}

// BenchmarkRatio runs the two in turns, so that both see the same disk and the
// same neighbours, and reports the exchange's speed as a share of the
// ceiling's, and its p99 at half load as a multiple.
func BenchmarkRatio(b *testing.B) {
	defer gateway.Ballast()() // as the program serves
	const turns = 10
	for _, n := range phones {
		b.Run(fmt.Sprintf("phones=%d", n), func(b *testing.B) {
			whole := serve(b, wholeServer(b), n)
			warm(b, whole)
			bare := serve(b, bareServer(b), n) // a server does not wait long for a connection's first request
			warm(b, bare)
			b.ResetTimer()
			var wholeTook, bareTook time.Duration
			total := 0
			for turn := range turns {
				share := b.N*(turn+1)/turns - b.N*turn/turns
				wholeTook += whole.all(b, share)
				bareTook += bare.all(b, share)
				total += share
			}
			b.StopTimer()
			wholeRate, bareRate := float64(total)/wholeTook.Seconds(), float64(total)/bareTook.Seconds()
			b.ReportMetric(wholeRate, "exchanges/s")
			b.ReportMetric(bareRate, "ceiling/s")
			b.ReportMetric(wholeRate/bareRate, "ratio")
			if b.N < 1000 {
				return
			}
			wholeTimes := whole.paced(b, paceTotal(wholeRate), wholeRate/2)
			bareTimes := bare.paced(b, paceTotal(bareRate), bareRate/2)
			b.ReportMetric(float64(quantile(wholeTimes, .99))/float64(quantile(bareTimes, .99)), "p99-multiple")
		})
	}
}

func paceTotal(rate float64) int { return max(1, int(rate/2*paceFor.Seconds())) }

func measure(b *testing.B, phones int, over func(testing.TB, *bolt.Store) *http.Server) {
	defer gateway.Ballast()() // as the program serves
	store := openStore(b)
	f := serve(b, over(b, store), phones)
	warm(b, f)
	b.ReportAllocs()
	before := store.Written()
	b.ResetTimer()
	took := f.all(b, b.N)
	b.StopTimer()
	rate := float64(b.N) / took.Seconds()
	b.ReportMetric(rate, "exchanges/s")
	b.ReportMetric(float64(store.Written()-before)/float64(b.N), "disk-B/op")
	if b.N < 1000 {
		return // too few to say anything about a load
	}
	times := f.paced(b, paceTotal(rate), rate/2)
	b.ReportMetric(float64(quantile(times, .5).Microseconds()), "p50-µs")
	b.ReportMetric(float64(quantile(times, .99).Microseconds()), "p99-µs")
}

// warm brings every phone through its welcome, so that all are at work.
func warm(tb testing.TB, f *fleet) {
	tb.Helper()
	f.all(tb, len(f.talkers)*(len(welcome)+len(lot)))
}

// dialogue is that of an invented programme, with the real screens.
func dialogue(tb testing.TB) *talk.Machine {
	tb.Helper()
	words, err := wording.Embedded()
	if err != nil {
		tb.Fatal(err)
	}
	table, err := standard.ByID("agmark-paddy")
	if err != nil {
		tb.Fatal(err)
	}
	return screen.NewMachine(&programme.Programme{
		Name: "Mbuyu Valley rice scheme", Region: "FR", Languages: []session.Language{"en"}, Currency: "MVS",
		Zone: time.UTC, BagKG: 75 * grading.One, Standard: table, ConsentVersion: 1,
		Districts: []string{"Upper Mbuyu", "Lower Mbuyu", "Kisima", "Korongo"},
	}, words)
}

func openStore(tb testing.TB) *bolt.Store {
	tb.Helper()
	store, err := bolt.Open(filepath.Join(tb.TempDir(), "store.db"), bolt.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := store.Close(); err != nil {
			tb.Error(err)
		}
	})
	return store
}

// valley is the channel of the benchmarks.
func valley(tb testing.TB) *carrier.Channel {
	tb.Helper()
	c, err := carrier.New(carrier.Config{
		Name: "valley-ussd", Kind: session.USSD,
		Read: carrier.ReadConfig{
			From: "form:msisdn", Text: "form:input", Session: "form:sid", Message: "form:mid",
			Event: "form:news", Start: []string{"opened"}, Continue: []string{"typed"},
		},
		Reply: carrier.ReplyConfig{
			ContentType: "text/plain; charset=utf-8", Body: "{{.Text}}", Headers: map[string]string{"X-More": "{{.More}}"},
		},
		Guard: carrier.GuardConfig{Token: "env:VALLEY_TOKEN", TokenAt: "header:X-Token"},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

func wholeServer(tb testing.TB) *http.Server { return wholeOver(tb, openStore(tb)) }

func wholeOver(tb testing.TB, store *bolt.Store) *http.Server {
	tb.Helper()
	g, err := gateway.New(gateway.Config{
		Store: store, Step: dialogue(tb).Step,
		Inlets: []gateway.Inlet{gateway.InletOf(valley(tb))},
		Now:    time.Now, Log: zerolog.Nop(), Metrics: gateway.NewMetrics(),
	})
	if err != nil {
		tb.Fatal(err)
	}
	return gateway.Server("", g, zerolog.Nop())
}

func bareServer(tb testing.TB) *http.Server { return bareOver(tb, openStore(tb)) }

func bareOver(tb testing.TB, store *bolt.Store) *http.Server {
	tb.Helper()
	return gateway.Server("", bare.Router(store.Bare, typicalBytes), zerolog.Nop())
}
