// Package gateway is the HTTP edge: it takes a carrier's request, lets the
// dialogue turn, and answers.
//
// It decides nothing about paddy and stores nothing of its own. A message is
// acknowledged only after it was stored, together with the reply and the key by
// which a redelivery is recognised.
package gateway

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gorilla/mux"
	"github.com/rs/zerolog"

	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
)

// Store is what the gateway asks of an engine.
type Store interface {
	// Exchange runs the turn and stores all it wrote, the reply and the
	// duplicate key, or nothing. See [session.Turn] for what a turn may do.
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
}

// ReceiptBook takes delivery receipts: a store.
type ReceiptBook interface {
	// Receipt sets the state of the message that a channel's carrier knows by
	// an id. Receipts may repeat, and come in any order.
	Receipt(ctx context.Context, channel, carrierID string, state session.OutgoingState, at time.Time) error
}

// Config is what a gateway needs. Store, Step, Inlets, Now and Metrics
// must be set.
type Config struct {
	Store Store
	Step  session.Step // the dialogue
	// Foresee lists what Step may ask the store, as far as a message's text says
	// that; nil foresees nothing.
	Foresee  func(text string) []session.Ask
	Inlets   []Inlet
	Receipts ReceiptBook // nil: receipts are answered with 404
	Limits   Limits      // the zero value limits nothing; see DefaultLimits
	Now      func() time.Time
	Entropy  io.Reader // fresh random bits; nil is crypto/rand
	Log      zerolog.Logger
	Metrics  *Metrics
	// Ready returns why the process cannot serve just now; a nil Ready means
	// always ready.
	Ready func(context.Context) error
	// Notice is what else /readyz says while the process serves; nil adds nothing.
	Notice func() string
	// Queued is called when an exchange has queued an outgoing message, to wake
	// the worker; may be nil.
	Queued func()
	// MetricsToken is the bearer token that /metrics asks for; empty asks for
	// none.
	MetricsToken string
	// QueueAge returns how long the first outgoing message has been due, for the
	// metrics; may be nil.
	QueueAge func(ctx context.Context, now time.Time) (time.Duration, error)
	// AnswerFor is how late an answer by call may still be sent; 0 is 24 hours.
	AnswerFor time.Duration
	// Beside adds other routes, such as the desk's; may be nil.
	Beside func(*mux.Router)
}

// Gateway answers carriers.
type Gateway struct {
	cfg      Config
	inlets   map[string]*inlet
	phones   *bucketSet
	flight   chan struct{} // one slot for each exchange under way
	seen     *recent
	order    lines
	gone     gone
	lines    repeats // of refusals in the log
	stamp    uint64  // tells the runs of the process apart
	requests atomic.Uint64
	bodies   sync.Pool // of *bytes.Buffer, for requests' bodies
	handler  http.Handler
}

// New makes a gateway from its configuration. It does not listen: mount
// [Gateway.ServeHTTP] in a [Server].
func New(cfg Config) (*Gateway, error) {
	if cfg.Store == nil || cfg.Step == nil || cfg.Now == nil || cfg.Metrics == nil || len(cfg.Inlets) == 0 {
		return nil, errors.New("gateway: a gateway needs a store, a machine, a clock, metrics and a channel")
	}
	cfg.Entropy = cmp.Or(cfg.Entropy, rand.Reader)
	if cfg.Entropy != rand.Reader {
		cfg.Entropy = &lockedReader{source: cfg.Entropy}
	}
	if cfg.AnswerFor <= 0 {
		cfg.AnswerFor = 24 * time.Hour
	}
	if cfg.Limits.InFlight <= 0 {
		cfg.Limits.InFlight = 2048
	}
	stamp, err := dispatch.Bits(cfg.Entropy)
	if err != nil {
		return nil, err
	}
	g := &Gateway{
		cfg: cfg, inlets: map[string]*inlet{},
		phones: newBucketSet(phonesRemembered, cfg.Limits.Phone...),
		flight: make(chan struct{}, cfg.Limits.InFlight),
		seen:   newRecent(), stamp: stamp[0],
		bodies: sync.Pool{New: func() any { return new(bytes.Buffer) }},
	}
	for _, c := range cfg.Inlets {
		if c.Name == "" || c.Carrier == nil || g.inlets[c.Name] != nil {
			return nil, fmt.Errorf("gateway: channel %q needs a carrier and a name of its own", c.Name)
		}
		g.inlets[c.Name] = newInlet(c, cfg.Limits.Channel, cfg.Metrics)
	}
	g.handler = g.routes()
	return g, nil
}

// ServeHTTP implements http.Handler.
func (g *Gateway) ServeHTTP(w http.ResponseWriter, r *http.Request) { g.handler.ServeHTTP(w, r) }

func (g *Gateway) routes() http.Handler {
	router := mux.NewRouter()
	// A path is taken as it stands: a redirect would drop a carrier's body.
	router.SkipClean(true)
	// A carrier may put fields in what follows the channel's name.
	for _, rest := range []string{"", "/{rest:.*}"} {
		router.HandleFunc("/in/{channel}"+rest, g.receive).Methods(http.MethodPost, http.MethodGet, http.MethodPut)
		router.HandleFunc("/receipt/{channel}"+rest, g.receipt).Methods(http.MethodPost, http.MethodGet, http.MethodPut)
	}
	router.HandleFunc("/healthz", g.healthy).Methods(http.MethodGet, http.MethodHead)
	router.HandleFunc("/readyz", g.ready).Methods(http.MethodGet, http.MethodHead)
	router.Handle("/metrics", g.fenced(g.figures(g.cfg.Metrics.handler()))).Methods(http.MethodGet)
	if g.cfg.Beside != nil {
		g.cfg.Beside(router)
	}
	router.NotFoundHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { g.refuse(w, r, "", errNoPath) })
	router.MethodNotAllowedHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { g.refuse(w, r, "", errMethod) })
	return g.guarded(router)
}

// healthy says that the process runs.
func (g *Gateway) healthy(w http.ResponseWriter, _ *http.Request) { ok(w) }

func ok(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = io.WriteString(w, "ok\n")
}

// ready says whether the process can serve, which means that the store takes
// writes.
func (g *Gateway) ready(w http.ResponseWriter, r *http.Request) {
	if g.cfg.Ready != nil {
		if err := g.cfg.Ready(r.Context()); err != nil {
			g.refuse(w, r, "", fmt.Errorf("%w: %w", errNotReady, err))
			return
		}
	}
	ok(w)
	if g.cfg.Notice != nil {
		if notice := g.cfg.Notice(); notice != "" {
			_, _ = io.WriteString(w, notice+"\n")
		}
	}
}

// fenced lets a request through that has the token for /metrics. It compares
// hashes, so that the time taken does not reveal the token's length.
func (g *Gateway) fenced(next http.Handler) http.Handler {
	if g.cfg.MetricsToken == "" {
		return next
	}
	want := sha256.Sum256([]byte("Bearer " + g.cfg.MetricsToken))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		got := sha256.Sum256([]byte(r.Header.Get("Authorization")))
		if subtle.ConstantTimeCompare(got[:], want[:]) != 1 {
			g.refuse(w, r, "", carrier.ErrRefused)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// figures updates the values that change by themselves before they are read.
func (g *Gateway) figures(next http.Handler) http.Handler {
	if g.cfg.QueueAge == nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		age, err := g.cfg.QueueAge(r.Context(), g.cfg.Now())
		if err != nil {
			// The other figures matter most when the store is in trouble.
			g.cfg.Metrics.faults.WithLabelValues("look up the queue's age").Inc()
		} else {
			g.cfg.Metrics.QueueAge(age)
		}
		next.ServeHTTP(w, r)
	})
}

// lockedReader lets several exchanges read from a source that is not safe for
// concurrent use.
type lockedReader struct {
	mu     sync.Mutex
	source io.Reader
}

func (l *lockedReader) Read(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return io.ReadFull(l.source, p)
}
