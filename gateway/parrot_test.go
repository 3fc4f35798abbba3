package gateway_test

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"sync"
	"time"

	"threshline/session"
)

// parrot is a dialogue whose replies show how often it was really heard: it
// says back what it heard and counts the person's messages in the dialogue.
func parrot(v session.View, in session.Input) (session.Writes, error) {
	d, err := v.Dialogue(in.Phone)
	if err != nil {
		return session.Writes{}, err
	}
	d.Memo.Short++
	heard := d.Memo.Short
	d.Phone, d.NetworkSession, d.Last = in.Phone, in.NetworkSession, in.At
	d.Expires = in.At.Add(time.Hour)
	w := session.Writes{Dialogue: &d}
	switch in.Text {
	case "panic":
		panic(string(in.Phone) + " said panic")
	case "fault":
		return session.Writes{}, fmt.Errorf("turn failed for %s: disk of %s", string(in.Phone), "+33639980001")
	case "hush":
		w.Reply.Silent = true
	case "mould":
		w.Reply = session.Reply{Text: "Do not eat mouldy grain.", Safety: true}
	default:
		w.Reply = session.Reply{Text: fmt.Sprintf("Message %d, %s: %q.", heard, in.Event, in.Text), More: !strings.Contains(in.Text, "bye")}
	}
	if in.Event == session.End || in.Event == session.Timeout {
		w.Reply = session.Reply{Silent: true}
	}
	return w, nil
}

// moody is a store that fails when it is told to.
type moody struct {
	inner interface {
		Exchange(context.Context, session.Key, session.Turn) (session.Outcome, error)
	}
	mu      sync.Mutex
	problem error
}

func (m *moody) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	m.mu.Lock()
	problem := m.problem
	m.mu.Unlock()
	if problem != nil {
		return session.Outcome{}, fmt.Errorf("store: %w", problem)
	}
	return m.inner.Exchange(ctx, key, turn)
}

func (m *moody) fail(err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.problem = err
}

// dice are random bits that are the same in every run.
func dice() io.Reader { return rand.NewChaCha8([32]byte{1}) }

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

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

var start = time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
