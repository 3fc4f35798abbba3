package postgres

import (
	"context"
	"errors"
	"time"

	"threshline/session"
)

// watchEvery is how often it is seen whether the database takes writes, while
// it did not last time.
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

// Healthy returns nil while the database takes writes, else what the last one
// met: session.ErrAway or ErrFull in it. It becomes nil again by itself.
func (s *Store) Healthy() error {
	if err := s.ill.Load(); err != nil {
		return *err
	}
	return nil
}

// watch finds out whether the database takes writes: nobody else may try while
// carriers are told to wait.
func (s *Store) watch(ctx context.Context) {
	ticker := time.NewTicker(watchEvery)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
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
	}
}

// listen waits for what other gateways say. It only wakes: whoever misses it
// looks by themselves a little later.
func (s *Store) listen(ctx context.Context) {
	for ctx.Err() == nil {
		err := s.hear(ctx)
		if err != nil && ctx.Err() == nil {
			select {
			case <-ctx.Done():
			case <-time.After(watchEvery):
			}
		}
	}
}

// hear listens on a connection of its own until it breaks.
func (s *Store) hear(ctx context.Context) error {
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	defer conn.Release()
	own := conn.Hijack()
	defer own.Close(context.WithoutCancel(ctx))
	if _, err := own.Exec(ctx, "listen threshline"); err != nil {
		return err
	}
	for {
		if _, err := own.WaitForNotification(ctx); err != nil {
			return err
		}
		s.options.Woken()
	}
}
