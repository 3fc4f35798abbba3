package main

import (
	"context"
	"crypto/tls"
	"errors"
	"net"
	"net/http"
	"os"
	"os/signal"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/gateway"
	"threshline/session"
)

// live serves a station, and puts another in its place when the configuration
// is read again. The store, the listener and the metrics stay; a dialogue is
// in the store, so that none is dropped.
type live struct {
	now   atomic.Pointer[station]
	loops sync.WaitGroup
	stop  context.CancelFunc // of the loops
}

func newLive(s *station) *live {
	l := &live{}
	l.now.Store(s)
	return l
}

// ServeHTTP implements http.Handler: a request stays with the station that
// took it.
func (l *live) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	l.now.Load().gateway.ServeHTTP(w, r)
}

// run serves until ctx ends; each function that comes from again gives a
// configuration to go on with, or says why there is none.
func (l *live) run(ctx context.Context, listener net.Listener, again <-chan func() (*config.Config, error)) error {
	server := gateway.Server("", l, l.now.Load().log)
	l.startLoops(ctx)
	failed := make(chan error, 1)
	go func() { failed <- l.serve(server, listener) }()
	err := l.watch(ctx, failed, again)
	// Messages that wait for a halted store are also asked to come again.
	if halted := errors.Is(err, session.ErrHalted); err == nil || halted {
		grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		err = errors.Join(err, server.Shutdown(grace))
		cancel()
	}
	l.stop()
	l.loops.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// watch returns when it is time to end: the server's own failure, or nil.
func (l *live) watch(ctx context.Context, failed <-chan error, again <-chan func() (*config.Config, error)) error {
	learn := time.NewTicker(l.now.Load().learnLook())
	defer learn.Stop()
	meters := time.NewTicker(metersEvery)
	defer meters.Stop()
	for {
		select {
		case <-learn.C:
			l.relearn(ctx)
		case <-meters.C:
			l.remeter(ctx)
		case <-l.now.Load().metered:
			l.remeter(ctx)
		case err := <-failed:
			return err
		case <-ctx.Done():
			return nil
		case <-l.now.Load().store.Halted():
			// The file is in doubt: whoever started us opens it anew.
			return l.now.Load().store.Healthy()
		case load := <-again:
			l.reload(ctx, load)
		}
	}
}

func (l *live) startLoops(ctx context.Context) {
	ctx, l.stop = context.WithCancel(ctx)
	l.now.Load().startLoops(ctx, &l.loops)
}

// reload continues with the file as it is now. If anything in it is wrong, the
// old configuration stays in force.
func (l *live) reload(ctx context.Context, load func() (*config.Config, error)) {
	old := l.now.Load()
	cfg, err := load()
	var next *station
	if err == nil {
		next, err = old.again(cfg)
	}
	if err != nil {
		old.log.Error().Err(err).Msg("the configuration was not loaded again: the old one stays in force")
		return
	}
	l.swap(ctx, next)
	next.log.Info().Str("programme", cfg.Programme.Name).Str("standard", next.programme.Standard.ID).
		Int("channels", len(cfg.Channels)).Msg("configuration loaded again")
}

// swap goes on with another station over the same store.
func (l *live) swap(ctx context.Context, next *station) {
	l.now.Store(next)
	l.stop()
	l.loops.Wait() // what is on its way to a carrier is settled first
	l.startLoops(ctx)
}

// again builds a station of another configuration over the same store.
func (s *station) again(cfg *config.Config) (*station, error) {
	if cfg.Listen.Address != s.cfg.Listen.Address || cfg.Store != s.cfg.Store || (cfg.Listen.TLSCert == "") != (s.cfg.Listen.TLSCert == "") {
		s.log.Warn().Msg("[store], and the address and kind of [listen], change only at the next start")
		cfg.Store = s.cfg.Store
	}
	next := &station{cfg: cfg, store: s.store, clock: s.clock, metrics: s.metrics, memory: s.memory, company: s.company, outside: s.outside, metered: s.metered, log: s.log}
	if err := next.configure(); err != nil {
		return nil, err
	}
	if err := next.teach(context.Background()); err != nil {
		return nil, err
	}
	if err := next.assemble(); err != nil {
		return nil, err
	}
	next.feed.Weeks.Store(s.feed.Weeks.Load()) // until its own ledger is filled
	return next, nil
}

// serve ends TLS here when there is a certificate; a reload reads it again.
func (l *live) serve(server *http.Server, listener net.Listener) error {
	if l.now.Load().cert == nil {
		return server.Serve(listener)
	}
	server.TLSConfig = &tls.Config{
		MinVersion: tls.VersionTLS12,
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
			if cert := l.now.Load().cert; cert != nil {
				return cert, nil
			}
			return nil, errors.New("no certificate")
		},
	}
	return server.ServeTLS(listener, "", "")
}

// hangups gives, for each SIGHUP, a way to read the configuration again.
func hangups(path string) (again <-chan func() (*config.Config, error), stop func()) {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, syscall.SIGHUP)
	loads := make(chan func() (*config.Config, error))
	done := make(chan struct{})
	go func() {
		for {
			select {
			case <-done:
				return
			case <-signals:
			}
			select {
			case <-done:
				return
			case loads <- func() (*config.Config, error) { return config.Load(path) }:
			}
		}
	}()
	return loads, func() { signal.Stop(signals); close(done) }
}
