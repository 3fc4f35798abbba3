package dispatch

import (
	"context"
	"time"

	"threshline/session"
)

// Register is the part of a store that is needed to delete old personal data.
type Register interface {
	// People lists up to n people whose ID comes after the given one.
	People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error)
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
}

// Releaser decides whose personal data is deleted: the programme.
type Releaser interface {
	MayRelease(p session.Person, now time.Time) bool
	Release(id session.PersonID, now time.Time, released *bool) session.Turn
}

// Release goes through all people once and deletes the personal data of those
// whom the programme no longer keeps. It returns how many; a fault of the store
// ends it, and the next round begins again.
func Release(ctx context.Context, r Register, who Releaser, now time.Time) (released int, err error) {
	after := session.PersonID("")
	for {
		people, err := r.People(ctx, after, agendaBatch)
		if err != nil {
			return released, err
		}
		for _, p := range people {
			after = p.ID
			if !who.MayRelease(p, now) {
				continue
			}
			gone := false
			if _, err := r.Exchange(ctx, session.Key{Phone: p.Phone}, who.Release(p.ID, now, &gone)); err != nil {
				return released, err
			}
			if gone {
				released++
			}
		}
		if len(people) < agendaBatch {
			return released, nil
		}
	}
}
