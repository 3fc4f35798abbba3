package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"threshline/cmd/threshline/progress"
	"threshline/gateway/dispatch"
	"threshline/session/store/bolt"
)

// upkeep is what an operator does to the running gateway, for the desk.
type upkeep struct{ s *station }

// Compact implements desk.Upkeep.
func (u upkeep) Compact(ctx context.Context) (cleared, left int64, err error) {
	file, ok := u.s.store.(*bolt.Store)
	if !ok {
		return 0, 0, errors.New("compact: a database makes its own room (VACUUM)")
	}
	done, err := file.Scrub(ctx, nil)
	return done.Cleared, done.Left, err
}

// ConfirmClock implements desk.Upkeep.
func (u upkeep) ConfirmClock() (before, now time.Time) { return u.s.clock.Confirm() }

// clockEvery is how often we check whether the clock is believed.
const clockEvery = 30 * time.Second

// watchClock makes the loop that logs when the clock is no longer believed, and
// when it is again.
func (s *station) watchClock() func(context.Context) (bool, error) {
	doubted := false
	return func(ctx context.Context) (bool, error) {
		if now := s.queueNow(); now != nil {
			if at, err := now(ctx); err == nil { // else it is asked again soon
				s.clock.Shared(at)
			}
		}
		why := s.clock.Doubt()
		s.metrics.ClockBelieved(why == "")
		switch {
		case why != "" && !doubted:
			s.log.Error().Str("clock", why).Str("hint", "set the clock right; if it is right, say so with threshline clock --confirm").Msg("the clock is not believed")
		case why == "" && doubted:
			s.log.Info().Time("now", s.clock.Now()).Msg("the clock is believed again")
		}
		doubted = why != ""
		return false, nil
	}
}

// newClock watches the machine's clock over an open store.
func newClock(ctx context.Context, store engine, o outside) (*dispatch.Clock, error) {
	if d, shared := store.(common); shared {
		last, err := d.LastCommit(ctx)
		if err != nil {
			return nil, err
		}
		now, err := d.Now(ctx)
		return dispatch.NewSharedClock(o.wall, o.passed, last, now), err
	}
	file, ok := store.(interface {
		LastCommit() time.Time
		Stamp(now func() time.Time)
	})
	if !ok {
		return dispatch.NewClock(o.wall, o.passed, time.Time{}), nil
	}
	c := dispatch.NewClock(o.wall, o.passed, file.LastCommit())
	file.Stamp(c.Sure)
	return c, nil
}

type compactCmd struct {
	At        string `help:"Address of the running gateway." default:"http://127.0.0.1:8080" placeholder:"URL"`
	TokenFile string `help:"File that holds the token; the variable THRESHLINE_TOKEN is read when not given." type:"path" placeholder:"FILE"`
	Stopped   string `help:"Make the store file of a gateway that does not run as small as it can be." type:"existingfile" placeholder:"FILE"`
}

// Help is the longer text of `threshline compact --help`.
func (*compactCmd) Help() string {
	return `What was removed from the store, such as the name of somebody who left, lies in
its free room until something else is written there. This writes over all of it: of
the running gateway, with a token that has the scope "upkeep", while it goes on
serving; or with --stopped of a store at rest, which then takes no more room than
it needs.`
}

func (cmd *compactCmd) Run(ctx context.Context, std stdio) error {
	if cmd.Stopped != "" {
		if bolt.InUse(cmd.Stopped) {
			return &fault{fmt.Errorf("compact: %q is in use", cmd.Stopped), "leave --stopped out, and give a token of the running gateway"}
		}
		bar := progress.Steps(std.err, "compact", "entries", -1)
		before, after, err := bolt.CompactFile(ctx, cmd.Stopped, bar.At)
		bar.End()
		if err != nil {
			return err
		}
		fmt.Fprintf(std.out, "compact  %s, %d bytes, %d before, verified\n", cmd.Stopped, after, before)
		return nil
	}
	var done struct {
		Cleared int64 `json:"cleared_bytes"`
		Left    int64 `json:"left_bytes"`
	}
	if err := keepUp(ctx, cmd.At, "/admin/v1/compact", cmd.TokenFile, &done); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "compact  %d bytes written over\n", done.Cleared)
	if done.Left > 0 {
		return &fault{fmt.Errorf("compact: %d bytes are still being read, by a backup perhaps", done.Left), "run it again later"}
	}
	return nil
}

type clockCmd struct {
	At        string `help:"Address of the running gateway." default:"http://127.0.0.1:8080" placeholder:"URL"`
	TokenFile string `help:"File that holds the token; the variable THRESHLINE_TOKEN is read when not given." type:"path" placeholder:"FILE"`
	Confirm   bool   `help:"The machine's clock is right: go on with it." required:""`
}

// Help is the longer text of `threshline clock --help`.
func (*clockCmd) Help() string {
	return `A gateway does not believe a clock that jumps ahead or far back, nor at a start one
that is more than 3 days ahead of the last commit: /readyz and the log say so, and
nobody is let go and nothing dropped until the clock is right again. If it is right,
because the machine was off for long, say so. The token needs the scope "upkeep".`
}

func (cmd *clockCmd) Run(ctx context.Context, std stdio) error {
	var done struct{ Before, Now time.Time }
	if err := keepUp(ctx, cmd.At, "/admin/v1/clock", cmd.TokenFile, &done); err != nil {
		return err
	}
	fmt.Fprintf(std.out, "clock    %s, believed; before %s\n", done.Now.Format(time.RFC3339), done.Before.Format(time.RFC3339))
	return nil
}

// keepUp asks the running gateway to do something, and reads what it did.
func keepUp(ctx context.Context, at, path, tokenFile string, did any) error {
	token, err := readToken(tokenFile)
	if err != nil {
		return err
	}
	body, err := askAdmin(ctx, http.MethodPost, at, path, token, http.NoBody)
	if err != nil {
		return err
	}
	defer body.Close()
	if err := json.NewDecoder(body).Decode(did); err != nil {
		return fmt.Errorf("the gateway's answer cannot be read: %w", err)
	}
	return nil
}

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
