package main

import (
	"context"
	"errors"
	"time"

	"threshline/session/store/bolt"
)

// inspect reads the whole store in the background, for at most half of the
// disk's time. A damaged store takes no more writes; /readyz and the log say
// so.
func (s *station) inspect(ctx context.Context) {
	file, ok := s.store.(*bolt.Store)
	if !ok {
		return // a database looks after itself
	}
	began := time.Now()
	err := file.Inspect(ctx, func() { pause(ctx, time.Since(began)); began = time.Now() })
	if ctx.Err() != nil {
		return
	}
	s.metrics.StoreRead(err == nil)
	var fault *bolt.Fault
	switch {
	case errors.As(err, &fault):
		s.log.Error().Err(err).Str("hint", fault.Hint()).Msg("the store is damaged: nothing more is written")
	case err != nil:
		s.log.Error().Err(err).Msg("the store could not be inspected")
	default:
		s.log.Info().Msg("the store is sound")
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
