package dispatch

import (
	"cmp"
	"context"
	"errors"
	"sync"
	"time"

	"threshline/session"
)

// Config is what a worker needs. Queue, Outlets and Now must be set.
type Config struct {
	Queue Queue
	// Outlets are the channels that messages go out by. A message without a channel
	// takes the first.
	Outlets []Outlet
	// Stopped reports whether the person at a phone has texted STOP; nil means
	// that nobody has.
	Stopped func(context.Context, session.Phone) (bool, error)
	// Join puts an alert together with others in one message when the day's money
	// for dangers is spent; nil puts the alert off to the next day.
	Join func(context.Context, session.Outgoing) error
	// SpentToday returns how many segments a channel has sent since the given
	// midnight, by part, so that a restart does not renew the day's budget; nil
	// begins each run with the whole budget.
	SpentToday func(ctx context.Context, channel string, since time.Time) (map[session.Part]int, error)
	// Purse is the day's money when several gateways share it. It replaces
	// SpentToday; may be nil.
	Purse Purse
	Zone  *time.Location // of the programme; nil is UTC
	Quiet Quiet
	Retry Retry
	// QueueNow is the time by the queue's own clock, by which messages come due and
	// claims are over; nil is a queue that goes by Now.
	QueueNow func(context.Context) (time.Time, error)
	// Now is the clock. Spread returns a number from 0 up to 1 for jitter; nil
	// takes the middle.
	Now    func() time.Time
	Spread func() float64
	// Batch is the most messages claimed at once, 0 is 64. Lease is how long a
	// claim holds, 0 is 2 minutes; HandWithin how long one carrier call may
	// take, 0 is 20 seconds, at most a third of Lease.
	Batch      int
	Lease      time.Duration
	HandWithin time.Duration
	Watcher    Watcher // may be nil
}

// Worker works off the queue. Several may run over one store.
type Worker struct {
	cfg     Config
	outlets map[string]*outlet
	first   *outlet
	wake    chan struct{}

	mu      sync.Mutex
	flights sync.WaitGroup
	// chains are the messages in flight by channel and phone: those of one phone
	// go out one after the other, in the order in which they were due. Channels
	// do not wait for each other: one may hang.
	chains map[chain][]flight
	// flying holds their latest leases: a message that is claimed again while it
	// is being sent is settled for the later claim.
	flying map[session.OutgoingID]uint64
	// unsettled are messages whose outcome could not be stored yet. They are
	// settled before anything else is claimed, and never handed on again.
	unsettled map[session.OutgoingID]session.Outgoing
	seeded    bool
	setBack   setBack
}

// chain is the messages to one phone by one channel, which go out in order.
type chain struct {
	outlet *outlet
	phone  session.Phone
}

// flight is one message on its way, and until when we hold it.
type flight struct {
	o      session.Outgoing
	outlet *outlet
	until  time.Time
	begun  time.Time     // by the system's own clock, which no one sets: until is by one that may be set back
	ahead  time.Duration // the queue's clock of ours
}

// New makes a worker. It claims nothing before Round or Run.
func New(cfg Config) (*Worker, error) {
	if cfg.Queue == nil || cfg.Now == nil || len(cfg.Outlets) == 0 {
		return nil, errors.New("dispatch: a worker needs a queue, a clock and a channel")
	}
	cfg.Zone = cmp.Or(cfg.Zone, time.UTC)
	if cfg.Spread == nil {
		cfg.Spread = func() float64 { return 0.5 }
	}
	if cfg.Batch <= 0 {
		cfg.Batch = 64
	}
	if cfg.Lease <= 0 {
		cfg.Lease = 2 * time.Minute
	}
	if cfg.HandWithin <= 0 {
		cfg.HandWithin = 20 * time.Second
	}
	cfg.HandWithin = min(cfg.HandWithin, cfg.Lease/3)
	if cfg.Watcher == nil {
		cfg.Watcher = unwatched{}
	}
	cfg.Retry = cfg.Retry.withDefaults()
	w := &Worker{
		cfg: cfg, outlets: map[string]*outlet{}, wake: make(chan struct{}, 1),
		chains: map[chain][]flight{}, flying: map[session.OutgoingID]uint64{},
		unsettled: map[session.OutgoingID]session.Outgoing{},
	}
	for _, c := range cfg.Outlets {
		if c.Carrier == nil || c.Name == "" || w.outlets[c.Name] != nil {
			return nil, errors.New("dispatch: every channel needs a carrier and a name of its own")
		}
		out := newOutlet(c, cfg.Zone)
		w.outlets[c.Name] = out
		if w.first == nil {
			w.first = out
		}
	}
	return w, nil
}

// Wake makes Run look at the queue at once, after a message was queued.
func (w *Worker) Wake() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// Run works until ctx is done, at every tick and whenever there is more to do. Then it
// lets the calls under way end, stores their outcomes, and returns.
func (w *Worker) Run(ctx context.Context, tick <-chan time.Time) {
	defer w.flights.Wait()
	for ctx.Err() == nil {
		if n, err := w.start(ctx); err == nil && n > 0 {
			// There may be more; start claims only what the outlets have room for.
			continue
		}
		select {
		case <-ctx.Done():
		case <-tick:
		case <-w.wake:
		}
	}
}

// Round claims once, and returns how many messages it claimed when all of
// them have been settled. The error is the store's.
func (w *Worker) Round(ctx context.Context) (claimed int, err error) {
	claimed, err = w.start(ctx)
	w.flights.Wait()
	return claimed, err
}

// start claims what the outlets have room for and sets it flying.
func (w *Worker) start(ctx context.Context) (claimed int, err error) {
	if err := w.settleLeft(ctx); err != nil {
		return 0, err
	}
	now := w.cfg.Now()
	if err := w.seed(ctx, now); err != nil {
		return 0, err
	}
	queueNow := now
	if w.cfg.QueueNow != nil {
		var err error
		if queueNow, err = w.cfg.QueueNow(ctx); err != nil {
			w.cfg.Watcher.Failed("look at the queue's clock", err)
			return 0, err
		}
	}
	if err := w.setBack.look(func() error { return w.cfg.Queue.SetBack(ctx, queueNow, w.cfg.Lease) }, now, queueNow); err != nil { // and go on: what can be read is not kept waiting
		w.cfg.Watcher.Failed("put right what waits for a clock that was ahead", err)
	}
	room := 0
	for _, out := range w.outlets {
		room += out.room(now)
	}
	room = min(room, w.cfg.Batch)
	if room == 0 {
		return 0, nil
	}
	begun := time.Now()
	messages, err := w.cfg.Queue.Claim(ctx, now, room, w.cfg.Lease)
	if err != nil {
		w.cfg.Watcher.Failed("claim outgoing messages", err)
		return 0, err
	}
	for _, o := range messages {
		w.launch(ctx, now, begun, o)
	}
	return len(messages), nil
}

// seed takes over what earlier runs have spent today.
func (w *Worker) seed(ctx context.Context, now time.Time) error {
	if w.seeded || w.cfg.SpentToday == nil || w.cfg.Purse != nil {
		return nil
	}
	for name, out := range w.outlets {
		segments, err := w.cfg.SpentToday(ctx, name, session.Midnight(now, w.cfg.Zone))
		if err != nil {
			w.cfg.Watcher.Failed("look up what was spent today", err)
			return err
		}
		for part, n := range segments {
			out.budgets[part].seed(now, n)
		}
	}
	w.seeded = true
	return nil
}
