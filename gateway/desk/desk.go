package desk

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/gorilla/mux"
	"github.com/rs/zerolog"

	"threshline/gateway/desk/access"
	"threshline/gateway/desk/paper"
	"threshline/gateway/desk/reckon"
	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// Records is where changes are made and looked up: a store.
type Records interface {
	// Exchange applies what the turn writes, all of it or nothing.
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
	// Read runs fn on one consistent view.
	Read(ctx context.Context, fn func(session.View) error) error
}

// Shelf lists what a store keeps, in pages.
type Shelf interface {
	People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error)
	Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error)
	Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error)
}

// BackupMaker writes a copy of the whole store while it serves.
type BackupMaker interface {
	Backup(ctx context.Context, w io.Writer) error
}

// Handset plays a phone against a practice copy of the dialogue, which files
// nothing. whose keeps the handsets of several visitors apart.
type Handset interface {
	Key(ctx context.Context, whose string, kind session.Kind, event session.Event, text string) (session.Reply, error)
}

// Config is what a desk needs. The programme, the store,
// the ledger and the clock must be set.
type Config struct {
	Programme *programme.Programme
	Records   Records
	Accounts  access.Book
	Shelf     Shelf
	Backup    BackupMaker
	Upkeep    Upkeep     // nil: no upkeep over the interface for programs
	Roster    RosterBook // nil: no roster over the interface for programs
	Ledger    *ledger.Ledger
	// Fresh updates the ledger from the store before a page is made; nil leaves
	// that to others.
	Fresh func(context.Context) error
	// Progress returns how much of the store the ledger has read after a start:
	// the number of checks, and their share of all. ok is false once all is read.
	// A nil Progress means that all is read.
	Progress func() (checks int, part float64, ok bool)
	// Clear takes signs off a lot; nil means that nobody can do so at this desk.
	Clear Clear
	// Metered is called when a meter that the desk keeps has changed; may be nil.
	Metered  func()
	Handset  Handset // nil: there is no handset page
	Channels []ChannelFacts
	// Standards are tables besides the one in force that checks may have been
	// graded by.
	Standards []*grading.Standard
	Now       func() time.Time
	Entropy   io.Reader // nil is crypto/rand
	Log       zerolog.Logger
	// Secure says that people reach the desk by TLS only, also through a proxy
	// that ends it: cookies are then never sent in the clear.
	Secure bool
	// Address finds who sends a request; nil takes the connection's address.
	// Behind a proxy it must be one that only the proxy can set.
	Address func(*http.Request) netip.Addr
	Cost    access.Cost // of hashing a password; the zero value is access.DefaultCost
	// OneFactor lets administrators sign in without a second factor, for the
	// demonstration.
	OneFactor bool
	// Entries is called for each attempt to sign in, by password or token, with
	// its outcome; may be nil.
	Entries func(by, outcome string)
	reckon.Pace
}

// ChannelFacts are what the settings page shows of a channel.
type ChannelFacts struct {
	Name string
	Kind session.Kind
	// Budget is what one message holds, septets.
	Budget int
	// Sends says that messages can go out. PerSegment is the price of a segment
	// and DailyLimit the most to spend in a day, in the programme's currency; 0 is
	// no limit.
	Sends                  bool
	PerSegment, DailyLimit float64
	// Guards says how the carrier proves itself, without any secret.
	Guards string
}

// Desk serves the coordinator's pages and the interface for programs. Each matter
// has a small desk of its own: the season, lots, people, meters, programs and others
// (routes.go).
type Desk struct {
	*front
	fresh   func(context.Context) error
	handler http.Handler
}

// New makes a desk.
func New(cfg Config) (*Desk, error) {
	if cfg.Programme == nil || cfg.Records == nil || cfg.Accounts == nil || cfg.Shelf == nil || cfg.Ledger == nil || cfg.Now == nil {
		return nil, errors.New("desk: the programme, the store, the ledger and the clock must be set")
	}
	cfg.Entropy = cmp.Or(cfg.Entropy, rand.Reader)
	pages, err := paper.Parse(cfg.Programme.Zone)
	if err != nil {
		return nil, fmt.Errorf("desk: %w", err)
	}
	d := &Desk{fresh: cfg.Fresh, front: &front{
		name: cfg.Programme.Name, zone: cfg.Programme.Zone, pages: pages, now: cfg.Now, log: cfg.Log, progress: cfg.Progress, practice: cfg.Handset != nil,
	}}
	if d.guard, err = access.New(access.Config{
		House: d.front, Records: cfg.Records, Book: cfg.Accounts, Now: cfg.Now, Entropy: cfg.Entropy, Log: cfg.Log,
		Secure: cfg.Secure, Address: cfg.Address, Cost: cfg.Cost, Programme: d.name, Zone: d.zone,
		OneFactor: cfg.OneFactor, Count: cfg.Entries,
	}); err != nil {
		return nil, fmt.Errorf("desk: %w", err)
	}
	d.handler = d.guarded(d.routes(&cfg))
	return d, nil
}

// Beside adds the desk to a gateway's routes.
func (d *Desk) Beside(r *mux.Router) {
	r.Path("/").Methods(http.MethodGet).Handler(http.RedirectHandler(home, http.StatusSeeOther))
	r.Path("/desk").Methods(http.MethodGet).Handler(http.RedirectHandler(home, http.StatusSeeOther))
	r.PathPrefix("/desk/").Handler(d)
	r.PathPrefix("/admin/v1/").Handler(d)
}

// home is the first page.
const home = "/desk/"

// ServeHTTP implements http.Handler.
func (d *Desk) ServeHTTP(w http.ResponseWriter, r *http.Request) { d.handler.ServeHTTP(w, r) }

// policy lets a page load our own style sheet and pictures, post to us, and
// nothing else: no script at all, not even ours.
const policy = "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// mostForm is the most that a form may hold, in bytes.
const mostForm = 64 << 10

// guarded sets the headers of every answer. It refuses a change that another
// site tries to make in a visitor's name.
func (d *Desk) guarded(next http.Handler) http.Handler {
	foreign := http.NewCrossOriginProtection()
	foreign.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		d.log.Warn().Str("path", access.Address(r)).Msg("refused a request from another site")
		d.Refuse(w, r, http.StatusForbidden, "This request came from another site, so nothing was changed.")
	}))
	inner := foreign.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		h.Set("Cache-Control", "no-store")
		if d.guard.ByTLS(r) {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		if !strings.HasPrefix(r.URL.Path, adminPath) {
			r.Body = http.MaxBytesReader(w, r.Body, mostForm)
		}
		inner.ServeHTTP(w, r)
	})
}

// Guard is who lets people and programs in.
func (d *Desk) Guard() *access.Guard { return d.guard }
