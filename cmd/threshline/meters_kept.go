package main

import (
	"context"
	"slices"
	"time"

	"threshline/session"
	"threshline/session/programme"
)

// metersEvery is how often a station checks whether another gateway over the
// same database changed a meter. Changes at its own desk count at once.
const metersEvery = 5 * time.Second

// mostMeters is how many meters are read at once.
const mostMeters = 500

// accountList lists what the desk keeps.
type accountList interface {
	Accounts(ctx context.Context, after session.AccountID, n int) ([]session.Account, error)
}

// keptMeters are the meters that the desk keeps, without those that were retired.
func keptMeters(ctx context.Context, store accountList) (meters []programme.Meter, err error) {
	for after := session.AccountID(session.DeskMeter) + "/"; ; {
		list, err := store.Accounts(ctx, after, mostMeters)
		if err != nil {
			return nil, err
		}
		for i := range list {
			if m, ok := programme.KeptMeter(&list[i]); ok {
				meters = append(meters, m)
			}
		}
		if len(list) < mostMeters || list[len(list)-1].Kind != session.DeskMeter {
			return meters, nil
		}
		after = list[len(list)-1].ID
	}
}

// meters are those of the configuration and those that the desk keeps. A name that
// both have means the configuration's.
func (s *station) meters(ctx context.Context) ([]programme.Meter, error) {
	kept, err := keptMeters(ctx, s.store)
	if err != nil {
		return nil, err
	}
	set := slices.DeleteFunc(slices.Clone(s.programme.Meters), func(m programme.Meter) bool { return m.Kept })
	return append(set, kept...), nil
}

// remeter continues with the desk's current meters.
func (l *live) remeter(ctx context.Context) {
	old := l.now.Load()
	meters, err := old.meters(ctx)
	if err == nil && slices.Equal(meters, old.programme.Meters) {
		return
	}
	next, now := *old, *old.programme
	now.Meters, next.programme = meters, &now
	if err == nil {
		err = next.assemble()
	}
	if err != nil {
		old.log.Error().Err(err).Msg("cannot read the meters that the desk keeps: those known before stay in force")
		return
	}
	l.swap(ctx, &next)
	next.log.Info().Int("meters", len(meters)).Msg("meters changed")
}
