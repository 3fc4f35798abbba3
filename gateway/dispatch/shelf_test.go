package dispatch_test

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// shelf is a queue in memory that keeps to the engines' contract.
type shelf struct {
	mu       sync.Mutex
	messages map[session.OutgoingID]*shelved
	problem  error // what Settle returns while it is set
	rotten   error // what SetBack returns
	settled  []session.Outgoing
}

type shelved struct {
	o     session.Outgoing
	lease time.Time
}

func newShelf() *shelf { return &shelf{messages: map[session.OutgoingID]*shelved{}} }

func (s *shelf) put(o session.Outgoing) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.messages[o.ID] = &shelved{o: o}
}

func (s *shelf) Claim(_ context.Context, now time.Time, n int, lease time.Duration) (claimed []session.Outgoing, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var due []*shelved
	for _, m := range s.messages {
		if m.o.State == session.Queued && !m.o.Due.After(now) && !m.lease.After(now) {
			due = append(due, m)
		}
	}
	slices.SortFunc(due, func(a, b *shelved) int {
		return cmp.Or(a.o.Due.Compare(b.o.Due), cmp.Compare(a.o.ID, b.o.ID))
	})
	for _, m := range due[:min(n, len(due))] {
		m.lease = now.Add(lease)
		m.o.Lease++
		claimed = append(claimed, m.o)
	}
	return claimed, nil
}

func (s *shelf) SetBack(_ context.Context, now time.Time, lease time.Duration) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.messages {
		if until := now.Add(lease); m.lease.After(until) {
			m.lease = until
		}
		m.o.SetBack(now)
	}
	return s.rotten
}

func (s *shelf) Settle(_ context.Context, o session.Outgoing) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.problem != nil {
		return s.problem
	}
	m := s.messages[o.ID]
	if m == nil {
		return session.ErrNotFound
	}
	if m.o.State != session.Queued || m.lease.IsZero() || m.o.Lease != o.Lease {
		return session.ErrConflict
	}
	m.o, m.lease = o, time.Time{}
	s.settled = append(s.settled, o)
	return nil
}

func (s *shelf) get(id session.OutgoingID) session.Outgoing {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.messages[id].o
}

// scripted is a carrier that answers as it is told, one answer a call, and
// "ok" when nothing is left to say.
type scripted struct {
	mu      sync.Mutex
	answers []error
	calls   []session.Outgoing
	during  func() // runs while a call is under way
}

func (c *scripted) Hand(_ context.Context, o session.Outgoing) (string, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.calls = append(c.calls, o)
	if c.during != nil {
		c.during()
	}
	if len(c.answers) > 0 {
		err := c.answers[0]
		c.answers = c.answers[1:]
		if err != nil {
			return "", err
		}
	}
	return "carrier-" + string(o.ID), nil
}

var errDropped = errors.New("connection dropped")

// answerOf makes the scripted answer of a word.
func answerOf(word string, after time.Duration) error {
	switch word {
	case "ok":
		return nil
	case "drop":
		return errDropped
	case "500":
		return &dispatch.Refusal{Problem: "carrier answered 500", After: after}
	case "503":
		return &dispatch.Refusal{Problem: "carrier answered 503", Slow: true, After: after}
	case "final":
		return &dispatch.Refusal{Problem: "carrier will never take it", Final: true}
	}
	return errors.New("no such answer in the script: " + word)
}

// clock is a clock that a test sets.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = t
}
