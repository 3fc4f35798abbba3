package postgres

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"threshline/session"
)

// watchEvery is how often we try whether the database takes writes, after a
// failed write.
const watchEvery = time.Second

// report keeps what the last write met, for Healthy.
func (s *Store) report(err error) {
	switch {
	case err == nil:
		if s.ill.Load() != nil {
			s.ill.Store(nil)
		}
	case errors.Is(err, session.ErrAway), errors.Is(err, session.ErrFull), errors.Is(err, errUnknown):
		s.ill.Store(&err)
	}
}

// halt has nothing more written until the store is opened anew.
func (s *Store) halt(err error) {
	if s.over.CompareAndSwap(nil, &err) {
		close(s.halted)
	}
}

// Halted is closed when nothing more is written until the store is opened anew: the
// journal's disk has failed, or a later program has changed the tables.
func (s *Store) Halted() <-chan struct{} { return s.halted }

// Healthy returns nil while the database takes writes, else what the last one
// met: session.ErrAway or ErrFull in it. It becomes nil again by itself, unless the
// store has halted: session.ErrHalted.
func (s *Store) Healthy() error {
	if err := s.over.Load(); err != nil {
		return *err
	}
	if err := s.ill.Load(); err != nil {
		return *err
	}
	return s.journal.healthy()
}

// watch finds out whether the database takes writes, and the journal what others
// wrote: no exchange tries it while carriers are told to wait.
func (s *Store) watch(ctx context.Context) {
	ticker := time.NewTicker(watchEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case now := <-ticker.C:
			s.recent.age(now)
		}
		probe, cancel := context.WithTimeout(ctx, s.options.Answer)
		sql := "select 1"
		if s.ill.Load() != nil {
			sql = "update about set version = version"
		}
		_, err := s.pool.Exec(probe, sql)
		if ctx.Err() == nil {
			s.report(fault(probe, "look whether the database takes writes", err))
		}
		cancel()
		if err == nil {
			_ = s.journal.catchUp() // Healthy tells
		}
	}
}

// presenceLock is what every gateway holds a share of while it runs, so that
// nobody replaces a store that is in use. A number of our own.
const presenceLock = 0x74686273

// presence is a connection of the store's own, which holds its share of the
// presence lock and hears what other gateways say.
func (s *Store) presence(ctx context.Context) (*pgx.Conn, error) {
	held, err := s.pool.Acquire(ctx)
	if err != nil {
		return nil, fault(ctx, "open", err)
	}
	defer held.Release()
	conn := held.Hijack()
	_, err = conn.Exec(ctx, "select pg_advisory_lock_shared($1, hashtext(current_schema()))", int32(presenceLock))
	if err == nil {
		_, err = conn.Exec(ctx, "listen threshline")
	}
	if err != nil {
		conn.Close(context.WithoutCancel(ctx))
		return nil, fault(ctx, "open", err)
	}
	return conn, nil
}

// stay keeps the presence up. While there was none, a later program may have changed
// the tables. A message only wakes the gateway: one that misses it looks by itself a
// little later.
func (s *Store) stay(ctx context.Context, conn *pgx.Conn) {
	for ctx.Err() == nil {
		if conn == nil {
			bounded, cancel := context.WithTimeout(ctx, s.options.Answer)
			var err error
			if conn, err = s.presence(bounded); err == nil {
				err = stillKnown(bounded, conn)
			}
			if errors.Is(err, ErrNewer) {
				s.halt(fmt.Errorf("%w: %w", session.ErrHalted, err))
			}
			cancel()
		}
		if conn != nil {
			if _, err := conn.WaitForNotification(ctx); err == nil {
				if s.options.Woken != nil {
					s.options.Woken()
				}
				continue
			}
			conn.Close(context.WithoutCancel(ctx))
			conn = nil
		}
		pause(ctx, watchEvery)
	}
	if conn != nil {
		conn.Close(context.WithoutCancel(ctx))
	}
}

func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}
