// Package access guards the desk: who may come in, by a password or a token, what
// they may do there, and how it ends.
//
// It keeps the accounts and shows the pages for signing in; every other page asks
// it who the visitor is.
package access

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"net/http"
	"net/netip"
	"time"

	"github.com/gorilla/mux"
	"github.com/rs/zerolog"

	"threshline/session"
)

// House is what the guard stands before: it shows the guard's pages.
type House interface {
	// Show answers with a page; v is nil while nobody is signed in.
	Show(w http.ResponseWriter, r *http.Request, status int, v *Visitor, name, title string, body any)
	// Refuse answers with a sentence why nothing was done.
	Refuse(w http.ResponseWriter, r *http.Request, status int, why string)
	// Fail answers a fault.
	Fail(w http.ResponseWriter, r *http.Request, err error)
}

// Records is where changes are made: a store.
type Records interface {
	// Exchange applies what the turn writes, all of it or nothing.
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
}

// Book finds who may use the desk: a store.
type Book interface {
	Account(ctx context.Context, id session.AccountID) (session.Account, error)
	Accounts(ctx context.Context, after session.AccountID, n int) ([]session.Account, error)
}

// Config is what a guard needs. What nil or zero stands for is said at each.
type Config struct {
	House   House // nil: there are no pages, only what is made at the machine
	Records Records
	Book    Book
	Now     func() time.Time
	Entropy io.Reader // nil is crypto/rand
	Log     zerolog.Logger
	// Secure says that people reach the desk by TLS only, also through a proxy
	// that ends it: cookies are then never sent in the clear.
	Secure bool
	// Address finds who sends a request; nil takes the connection's address.
	// Behind a proxy it must be one that only the proxy can set.
	Address func(*http.Request) netip.Addr
	Cost    Cost // of hashing a password; the zero value is DefaultCost
	// Programme is what an app that makes codes calls them by.
	Programme string
	// OneFactor lets administrators be without a second factor: a demonstration.
	OneFactor bool
	Zone      *time.Location // nil is UTC
	// Count is called for each attempt to sign in, with its outcome; may be nil.
	Count func(by, outcome string)
}

// What came of an attempt to come in.
const (
	cameIn  = "in"
	refused = "refused" // it was wrong
	slowed  = "slowed"  // too many wrong ones before
	crowded = "crowded" // too many wait to be looked at
)

// Register is who may use the desk, as the store has it: people, their sign-ins and
// links, and tokens.
type Register struct {
	records Records
	book    Book
	now     func() time.Time
	entropy io.Reader
}

// Guard lets people and programs in.
type Guard struct {
	Register
	cfg      Config
	throttle *throttle // of passwords
	guesses  *throttle // of tokens
	codes    *throttle // of the second factor
	line     *line     // of passwords that are hashed
}

// New makes a guard.
func New(cfg Config) (*Guard, error) {
	if cfg.Records == nil || cfg.Book == nil || cfg.Now == nil {
		return nil, errors.New("access: the store and the clock must be set")
	}
	cfg.Entropy = cmp.Or(cfg.Entropy, rand.Reader)
	if cfg.Address == nil {
		cfg.Address = peer
	}
	cfg.Cost = cmp.Or(cfg.Cost, DefaultCost)
	cfg.Zone = cmp.Or(cfg.Zone, time.UTC)
	if cfg.Count == nil {
		cfg.Count = func(string, string) {}
	}
	return &Guard{Register: Register{cfg.Records, cfg.Book, cfg.Now, cfg.Entropy}, cfg: cfg, throttle: newThrottle(), guesses: newThrottle(), codes: newThrottle(), line: newLine()}, nil
}

// Routes adds the guard's own pages to those of the desk.
func (g *Guard) Routes(r *mux.Router) {
	r.Path(signInPath).Methods(http.MethodGet, http.MethodHead).HandlerFunc(g.showSignIn)
	r.Path(signInPath).Methods(http.MethodPost).HandlerFunc(g.signIn)
	r.Path(linkPath+"{secret}").Methods(http.MethodGet, http.MethodHead).HandlerFunc(g.showLink)
	r.Path(linkPath + "{secret}").Methods(http.MethodPost).HandlerFunc(g.useLink)
	r.Path("/desk/sign-out").Methods(http.MethodPost).Handler(g.admit(g.signOut))
	r.Path(accountPath).Methods(http.MethodGet, http.MethodHead).Handler(g.admit(g.showAccount))
	for path, change := range map[string]Handler{
		"password": g.changePassword, "factor": g.setFactor, "recovery": g.renewRecovery, "end": g.endSignIn,
	} {
		r.Path(accountPath + "/" + path).Methods(http.MethodPost).Handler(g.admit(change))
	}
}

// home is the page after signing in.
const home = "/desk/"

// ByTLS reports whether the visitor's browser talks TLS, to us or to a proxy.
func (g *Guard) ByTLS(r *http.Request) bool { return g.cfg.Secure || r.TLS != nil }

// apply stores changes. The error may be session.ErrConflict.
func (reg *Register) apply(ctx context.Context, w session.Writes) error {
	_, err := reg.records.Exchange(ctx, session.Key{}, func(v session.View) (session.Writes, error) { return withCodes(v, w) })
	return err
}

// Note is an entry of the audit log.
func (reg *Register) Note(v *Visitor, did, subject string) session.AuditNote {
	return session.AuditNote{At: reg.now(), Who: v.Who(), Did: did, Subject: subject}
}

// Log stores what became of accounts and who did it, both or neither. The error
// may be session.ErrConflict.
func (reg *Register) Log(ctx context.Context, v *Visitor, did, subject string, changed ...session.Account) error {
	return reg.apply(ctx, session.Writes{Accounts: changed, Notes: []session.AuditNote{reg.Note(v, did, subject)}})
}
