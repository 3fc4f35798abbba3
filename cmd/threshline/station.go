package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway"
	"threshline/gateway/desk"
	"threshline/gateway/dispatch"
	"threshline/gateway/gsm"
	"threshline/session"
	"threshline/session/boltstore"
	"threshline/session/screen"
)

// station is a programme's gateway with all that runs in it.
type station struct {
	cfg       *config
	programme *session.Programme
	store     *boltstore.Store
	gateway   *gateway.Gateway
	worker    *dispatch.Worker // nil when no channel can send
	reminders *dispatch.Reminders
	watch     *gateway.Watch
	feed      *feed      // of the ledger
	front     *desk.Desk // the coordinator's
	log       zerolog.Logger
}

// How often the loops look for work that nobody woke them for.
const (
	workEvery   = 2 * time.Second
	remindEvery = 15 * time.Second
	sweepEvery  = time.Minute
	// stopWithin is how long a stop waits for exchanges under way.
	stopWithin = 15 * time.Second
)

// openStation builds a station on a store file. Close it after run.
func openStation(cfg *config, storePath string, log zerolog.Logger) (*station, error) {
	programme, err := cfg.programme()
	if err != nil {
		return nil, err
	}
	channels, err := cfg.buildChannels(gateway.NewClient())
	if err != nil {
		return nil, err
	}
	quiet, err := dispatch.ParseQuiet(cfg.Quiet.From + "-" + cfg.Quiet.To)
	if err != nil {
		return nil, fmt.Errorf("[quiet]: %w", err)
	}
	store, err := boltstore.Open(storePath, boltstore.Options{})
	if err != nil {
		return nil, err
	}
	s := &station{cfg: cfg, programme: programme, store: store, log: log}
	if err := s.assemble(channels, quiet); err != nil {
		return nil, errors.Join(err, store.Close())
	}
	return s, nil
}

// assemble wires the parts over the open store.
func (s *station) assemble(channels ways, quiet dispatch.Quiet) (err error) {
	metrics := gateway.NewMetrics()
	s.watch = &gateway.Watch{Metrics: metrics, Log: s.log, PerSegment: channels.perSegment, Now: time.Now}
	machine := screen.NewMachine(s.programme)
	wake := func() {}
	if len(channels.out) > 0 {
		s.worker, err = dispatch.New(dispatch.Config{
			Queue: s.store, Channels: channels.out, Stopped: s.stopped, SpentToday: dispatch.SpentToday(s.store),
			Zone: s.programme.Zone, Quiet: quiet, Now: time.Now, Spread: spread,
			Watcher: s.watch,
		})
		if err != nil {
			return err
		}
		wake = s.worker.Wake
	}
	s.reminders = &dispatch.Reminders{
		Agenda: s.store, Turn: machine.Remind, Budget: smsBudget(), Entropy: rand.Reader, Watcher: s.watch, Wake: wake,
	}
	beside, err := s.desk()
	if err != nil {
		return err
	}
	s.gateway, err = gateway.New(gateway.Config{
		Store: s.store, Machine: machine, Channels: channels.in, Receipts: s.store,
		Limits: s.cfg.Limits.forGateway(), Now: time.Now, Log: s.log, Metrics: metrics,
		Ready: func(context.Context) error { return s.store.Healthy() }, Queued: wake, QueueAge: s.store.QueueAge, Beside: beside,
	})
	return err
}

// smsBudget is what an unprompted message of ours may hold: one segment.
func smsBudget() session.Budget { return session.Budget{Septets: defaultBudget, Count: gsm.Count} }

// stopped tells whether the person at a phone has texted STOP.
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

// run serves on the listener until ctx ends, then stops cleanly: what was
// taken in is answered, nothing new is begun.
func (s *station) run(ctx context.Context, listener net.Listener) error {
	server := gateway.Server("", s.gateway)
	var loops sync.WaitGroup
	inner, stopLoops := context.WithCancel(ctx)
	defer stopLoops()
	s.startLoops(inner, &loops)
	failed := make(chan error, 1)
	go func() { failed <- s.serve(server, listener) }()
	var err error
	select {
	case err = <-failed:
	case <-ctx.Done():
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		err = server.Shutdown(grace)
		cancel()
	}
	stopLoops()
	loops.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return err
}

func (s *station) serve(server *http.Server, listener net.Listener) error {
	if s.cfg.Listen.TLSCert != "" {
		return server.ServeTLS(listener, s.cfg.Listen.TLSCert, s.cfg.Listen.TLSKey)
	}
	return server.Serve(listener)
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
	start(remindEvery, func(ctx context.Context) (bool, error) {
		n, err := s.reminders.Round(ctx, time.Now())
		return n > 0, err
	})
	start(feedEvery, s.feed.round)
	start(sweepEvery, func(ctx context.Context) (bool, error) {
		_, err := dispatch.Sweep(ctx, s.store, time.Now())
		return false, err
	})
}

// close lets the store go; every exchange that was answered is in it.
func (s *station) close() error { return s.store.Close() }
