package main

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"slices"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// sharedEngine is a gateway's way to the store that all have.
type sharedEngine struct {
	memoryEngine
	g *simGateway
}

var _ common = sharedEngine{}

// crossed asks the store something, on the way to which and back a gateway may be
// struck.
func crossed[T any](g *simGateway, doing string, ask func() (T, error)) (answer T, err error) {
	if err := g.cross(doing); err != nil {
		return answer, err
	}
	answer, err = ask()
	if err := g.cross(doing + " done"); err != nil {
		return answer, err
	}
	return answer, err
}

func (e sharedEngine) did(doing string, do func() error) error {
	_, err := crossed(e.g, doing, func() (struct{}, error) { return struct{}{}, do() })
	return err
}

// Exchange implements engine. A gateway may also be struck between what it reads
// and what it writes.
func (e sharedEngine) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	stale := false // what was written was made of what another has changed since
	out, err := crossed(e.g, "exchange", func() (session.Outcome, error) {
		return e.memoryEngine.Exchange(ctx, key, func(v session.View) (w session.Writes, err error) {
			d, err := v.Dialogue(key.Phone)
			if err != nil {
				return w, err
			}
			if w, err = turn(v); err != nil {
				return w, err
			}
			if err := e.g.cross("turn"); err != nil {
				return w, err
			}
			err = e.Store.Read(ctx, func(now session.View) error {
				is, err := now.Dialogue(key.Phone)
				stale = is.Version != d.Version
				return err
			})
			return w, err
		})
	})
	if err == nil && stale && !out.Duplicate && key.Phone != "" {
		e.s.wrong(ruleAlike, "what %s says at one gateway is answered without what it said at another", key.Phone)
	}
	return out, err
}

func (e sharedEngine) Read(ctx context.Context, fn func(session.View) error) error {
	return e.did("read", func() error { return e.memoryEngine.Read(ctx, fn) })
}

func (e sharedEngine) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	return crossed(e.g, "claim", func() ([]session.Outgoing, error) { return e.memoryEngine.Claim(ctx, now, n, lease) })
}

func (e sharedEngine) Settle(ctx context.Context, o session.Outgoing) error {
	return e.did("settle", func() error {
		err := e.memoryEngine.Settle(ctx, o)
		if err == nil {
			e.g.handed = slices.DeleteFunc(e.g.handed, func(ref string) bool { return ref == string(o.ID) })
		}
		return err
	})
}

func (e sharedEngine) Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error) {
	return crossed(e.g, "due", func() ([]session.Reminder, error) { return e.memoryEngine.Due(ctx, now, n) })
}

func (e sharedEngine) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	return crossed(e.g, "filed", func() ([]session.Check, error) {
		list, err := e.memoryEngine.Filed(ctx, after, n)
		if e.s.plant.passesOver && after > 0 && len(list) > 1 {
			list = list[1:]
		}
		return list, err
	})
}

func (e sharedEngine) People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error) {
	return crossed(e.g, "people", func() ([]session.Person, error) { return e.memoryEngine.People(ctx, after, n) })
}

func (e sharedEngine) Sweep(ctx context.Context, now time.Time, n int) (int, error) {
	return crossed(e.g, "sweep", func() (int, error) { return e.memoryEngine.Sweep(ctx, now, n) })
}

func (e sharedEngine) Begin(ctx context.Context, work string, every, within time.Duration) (session.Lease, error) {
	return crossed(e.g, "begin", func() (session.Lease, error) { return e.Store.Begin(ctx, work, every, within) })
}

func (e sharedEngine) End(ctx context.Context, l session.Lease, done bool, result []byte) error {
	return e.did("end", func() error {
		err := e.Store.End(ctx, l, done, result)
		if e.s.plant.unfenced {
			return nil
		}
		return err
	})
}

func (e sharedEngine) Result(ctx context.Context, work string) ([]byte, error) {
	return crossed(e.g, "result", func() ([]byte, error) { return e.Store.Result(ctx, work) })
}

func (e sharedEngine) Spend(ctx context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error) {
	if e.s.plant.eachSpends {
		channel = fmt.Sprint(channel, " at ", e.g.number)
	}
	err = e.did("spend", func() (err error) {
		spent, taken, first, err = e.Store.Spend(ctx, channel, part, day, segments, most, must)
		if taken {
			e.s.truth.spent[dayPart{day.Format(time.DateOnly), session.Part(part)}] += segments
		}
		return err
	})
	return spent, taken, first, err
}

func (e sharedEngine) LastCommit(ctx context.Context) (time.Time, error) {
	return e.Store.LastCommit(ctx)
}

// simWay is a gateway's way to the carrier.
type simWay struct{ g *simGateway }

// RoundTrip implements http.RoundTripper.
func (w simWay) RoundTrip(r *http.Request) (*http.Response, error) {
	g, c := w.g, w.g.s.carrier
	if !g.s.two() {
		return c.RoundTrip(r)
	}
	if err := g.cross("call"); err != nil {
		return nil, err
	}
	if err := r.Context().Err(); err != nil {
		return nil, err
	}
	before := len(c.sent)
	answer, err := c.RoundTrip(r)
	for _, text := range c.sent[before:] {
		g.handed = append(g.handed, text.ref)
	}
	if g.late {
		c.nobodyKnows(g)
	}
	if gone := g.cross("called"); gone != nil {
		return nil, gone
	}
	return answer, err
}

// nobodyKnows notes that a gateway stands still or is killed before it has stored what
// became of texts that it handed on, so that another may hand them on too.
func (c *simCarrier) nobodyKnows(g *simGateway) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, ref := range g.handed {
		for i := range c.sent {
			if one := &c.sent[i]; one.ref == ref && !one.unknown {
				one.unknown = true
				c.known[ref]--
			}
		}
	}
	g.handed = nil
}

var _ dispatch.Purse = sharedEngine{}

// BackupFile implements engine: a file stands for a copy of the store.
func (e sharedEngine) BackupFile(_ context.Context, path string) error {
	return e.did("backup", func() error { return os.WriteFile(path, nil, 0o600) })
}
