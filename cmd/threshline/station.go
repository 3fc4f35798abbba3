package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/feed"
	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/desk"
	"threshline/gateway/dispatch"
	"threshline/gateway/gsm"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/wording"
)

// station is a programme's gateway with all that runs in it.
type station struct {
	cfg       *config.Config
	programme *programme.Programme
	words     *wording.Catalogue
	channels  channels
	quiet     dispatch.Quiet
	store     engine
	gateway   *gateway.Gateway
	worker    *dispatch.Worker // nil when no channel can send
	reminders *dispatch.Reminders
	watch     *gateway.Watch
	metrics   *gateway.Metrics
	cert      *tls.Certificate // nil when TLS ends elsewhere
	backups   *backupPlan      // nil when none are planned
	feed      *feed.Feed       // of the ledger
	front     *desk.Desk       // the coordinator's
	clock     *dispatch.Clock  // never the system's own
	memory    *memory          // nil leaves it as it comes
	company   *company
	outside   outside
	metered   chan struct{} // told when a meter that the desk keeps has changed
	log       zerolog.Logger
}

// outside is what a station takes from the machine and from chance.
type outside struct {
	wall    func() time.Time     // the clock
	passed  func() time.Duration // since any moment; cannot be set
	entropy io.Reader
	spread  func() float64 // jitter of retries
	client  *http.Client   // for calls to carriers
}

func theMachine() outside { return outside{wall, passed, rand.Reader, spread, gateway.NewClient()} }

// How often the loops look for work that nobody woke them for.
const (
	workEvery   = 2 * time.Second
	remindEvery = 15 * time.Second
	sweepEvery  = time.Minute
	// releaseEvery is how often we look through all people for those whose data is
	// to be deleted.
	releaseEvery = 6 * time.Hour
	// stopWithin is how long a stop waits for exchanges under way.
	stopWithin = 15 * time.Second
)

// openStation builds a station on the store that the configuration says; one in
// a file lies at a path. Close it after run.
func openStation(cfg *config.Config, storePath string, log zerolog.Logger) (*station, error) {
	s, err := newStation(cfg, theMachine(), log)
	if err != nil {
		return nil, err
	}
	store, err := openEngine(cfg, context.Background(), storePath, s.company.heard)
	if err != nil {
		return nil, err
	}
	if err := s.begin(store); err != nil {
		return nil, err
	}
	return s, nil
}

// newStation builds what needs no store.
func newStation(cfg *config.Config, o outside, log zerolog.Logger) (*station, error) {
	s := &station{cfg: cfg, metrics: gateway.NewMetrics(), company: newCompany(), outside: o, metered: make(chan struct{}, 1), log: log}
	return s, s.configure()
}

// begin goes to work on an open store, and closes it if that cannot be.
func (s *station) begin(store engine) error {
	s.store = store
	var err error
	if s.clock, err = newClock(context.Background(), s.store, s.outside); err == nil {
		s.logJournal()
		err = s.teach(context.Background())
	}
	if err == nil {
		err = s.assemble()
	}
	if err != nil {
		return errors.Join(err, s.store.Close())
	}
	return nil
}

// configure builds all that needs no store, and finds what is wrong with the
// configuration.
func (s *station) configure() (err error) {
	if s.programme, s.words, err = s.cfg.Build(); err != nil {
		return err
	}
	if s.channels, err = buildChannels(s.cfg, s.outside.client); err != nil {
		return err
	}
	if s.quiet, err = dispatch.ParseQuiet(s.cfg.Quiet.From + "-" + s.cfg.Quiet.To); err != nil {
		return fmt.Errorf("[quiet]: %w", err)
	}
	s.cert, err = s.cfg.Certificate()
	s.backups = plannedBackups(s.cfg)
	return err
}

// assemble wires the parts over the open store; what a station has already that
// another was made from, it goes on with.
func (s *station) assemble() (err error) {
	metrics := s.metrics
	s.watch = &gateway.Watch{Metrics: metrics, Log: s.log, PerSegment: s.channels.perSegment, Now: s.clock.Now}
	machine := screen.NewMachine(s.programme, s.words)
	machine.Number = func(digits string) (session.Phone, bool) { return carrier.Local(digits, s.programme.Region) }
	machine.Weeks = func() *programme.Weeks { return s.feed.Weeks.Load() }
	wake := func() {}
	if len(s.channels.out) > 0 && s.worker == nil {
		s.worker, err = dispatch.New(dispatch.Config{
			Queue: s.store, Outlets: s.channels.out, Stopped: s.stopped, Join: s.join, SpentToday: dispatch.SpentToday(s.store),
			Purse: s.purse(), QueueNow: s.queueNow(), Zone: s.programme.Zone, Quiet: s.quiet, Now: s.clock.Now, Spread: s.outside.spread,
			Watcher: s.watch,
		})
		if err != nil {
			return err
		}
	}
	if s.worker != nil {
		wake = s.worker.Wake
	}
	s.reminders = &dispatch.Reminders{
		Agenda: s.store, Turn: machine.Remind, Budget: smsBudget(), Entropy: s.outside.entropy, Watcher: s.watch, Wake: wake,
	}
	beside, err := s.desk()
	if err != nil {
		return err
	}
	token, err := s.cfg.MetricsToken()
	if err != nil {
		return err
	}
	foresee := machine.Foresee
	if _, shared := s.store.(common); !shared {
		foresee = nil // what a turn asks of a file costs no round trip
	}
	s.gateway, err = gateway.New(gateway.Config{
		Store: s.store, Step: machine.Step, Foresee: foresee, Inlets: s.channels.in, Receipts: s.store,
		Limits: limitsOf(s.cfg.Limits), Now: s.clock.Now, Entropy: s.outside.entropy, Notice: s.clock.Doubt, Log: s.log, Metrics: metrics,
		Ready: s.ready, Queued: wake, QueueAge: s.store.QueueAge, MetricsToken: token, Beside: beside,
	})
	return err
}

// smsBudget is what an unprompted message of ours may hold: one segment.
func smsBudget() session.Budget {
	return session.Budget{Septets: carrier.DefaultBudget, Count: gsm.Count}
}

// stopped reports whether the person at a phone has texted STOP.
func (s *station) stopped(ctx context.Context, phone session.Phone) (stopped bool, err error) {
	err = s.store.Read(ctx, func(v session.View) error {
		p, err := v.PersonByPhone(phone)
		stopped = err == nil && !p.Stopped.IsZero()
		if errors.Is(err, session.ErrNotFound) {
			return nil
		}
		return err
	})
	return stopped, err
}

// join puts an alert together with others for a coordinator.
func (s *station) join(ctx context.Context, alert session.Outgoing) error {
	return dispatch.Join(ctx, s.store, alert, s.clock.Now())
}

// run serves on the listener until ctx ends, then stops cleanly: it answers the
// messages it has taken and begins nothing new.
func (s *station) run(ctx context.Context, listener net.Listener) error {
	return newLive(s).run(ctx, listener, nil)
}

func (s *station) startLoops(ctx context.Context, loops *sync.WaitGroup) {
	start := func(every time.Duration, work func(context.Context) (bool, error)) {
		ticker := time.NewTicker(every)
		loops.Go(func() {
			defer ticker.Stop()
			dispatch.Every(ctx, ticker.C, work)
		})
	}
	if s.worker != nil {
		ticker := time.NewTicker(workEvery)
		loops.Go(func() {
			defer ticker.Stop()
			s.worker.Run(ctx, ticker.C)
		})
	}
	remind := s.remind()
	start(remindEvery, func(ctx context.Context) (bool, error) { return remind(ctx, s.clock.Now()) })
	start(clockEvery, s.watchClock())
	start(feed.Every, s.feed.Round)
	start(feed.Every, s.feed.ReckonAhead)
	s.company.heard() // what is there at the start
	loops.Go(func() {
		dispatch.Every(ctx, s.company.filed, func(ctx context.Context) (bool, error) { return false, s.feed.CatchUp(ctx) })
	})
	if s.memory != nil {
		start(memoryEvery, s.memory.round)
	}
	if s.backups != nil {
		first := make(chan time.Time, 1)
		first <- time.Now() // a start makes up for what was due meanwhile
		close(first)
		loops.Go(func() {
			dispatch.Every(ctx, first, s.backupRound)
			ticker := time.NewTicker(backupLook)
			defer ticker.Stop()
			dispatch.Every(ctx, ticker.C, s.backupRound)
		})
	}
	start(sweepEvery, s.sweep)
	start(releaseEvery, s.release)
	loops.Go(func() { s.inspect(ctx) })
}

// digestWaits is longer than a week's message waits for its figures, and than clocks
// of gateways are apart; digestsLooked is how many reminders are looked through for one.
const (
	digestWaits   = 10 * time.Minute
	digestsLooked = 1000
	digestsWithin = 10 * time.Second // they are set, or on the next round
)

// remind makes the loop that works off what is due; once a day, when nothing is,
// it sets the weekly digests of coordinators who have not talked to us since
// they became that.
func (s *station) remind() func(context.Context, time.Time) (bool, error) {
	var digested time.Time // the day of the last look at all digests
	return func(ctx context.Context, now time.Time) (bool, error) {
		n, err := s.reminders.Round(ctx, now)
		if today := session.Midnight(now, s.programme.Zone); err == nil && n == 0 && !digested.Equal(today) {
			// A week that waits for its figures would be set to the next Monday, and one
			// that a gateway whose clock is ahead has just sent, to this one again.
			soon, err := s.store.Due(ctx, now.Add(digestWaits), digestsLooked)
			if err != nil || slices.ContainsFunc(soon, func(r session.Reminder) bool { return r.Kind == session.DigestKind }) {
				return false, err
			}
			// A gateway that was paused here must not set again what another has sent.
			bounded, cancel := context.WithTimeout(ctx, digestsWithin)
			defer cancel()
			if _, err = s.store.Exchange(bounded, session.Key{}, s.programme.Digests(now.Add(digestWaits))); err == nil {
				digested = today
			}
		}
		return n > 0, err
	}
}

// sweep takes away what is over, by the clock of every gateway: for one that is
// behind it goes on a while longer.
func (s *station) sweep(ctx context.Context) (bool, error) {
	return false, s.once(ctx, "sweep", sweepEvery/2, sweepEvery, func(finish func() error) error {
		now := s.clock.Sure()
		if _, shared := s.store.(common); shared {
			now = now.Add(-session.ClocksApart)
		}
		if _, err := dispatch.Sweep(ctx, s.store, now); err != nil {
			return err
		}
		return finish()
	})
}

// release deletes the personal data that the programme no longer keeps.
func (s *station) release(ctx context.Context) (bool, error) {
	n := 0
	err := s.once(ctx, "release", releaseEvery/2, time.Hour, func(finish func() error) (err error) {
		if n, err = dispatch.Release(ctx, s.store, s.programme, s.clock.Sure()); err != nil {
			return err
		}
		return finish()
	})
	if n > 0 {
		s.log.Info().Int("people", n).Msg("let go of people not heard of for as long as the programme keeps them")
	}
	if err != nil {
		s.watch.Failed("let old personal data go", err)
	}
	return false, err
}

// close closes the store, which then has every exchange that was answered.
func (s *station) close() error { return s.store.Close() }
