package dispatch

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"threshline/session"
)

// agendaBatch is how many reminders or expired records are taken at once.
const agendaBatch = 100

// Agenda is the part of a store that the reminder loop needs.
type Agenda interface {
	// Due lists up to n reminders that are due at now, earliest first.
	Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error)
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
}

// Reminders turns due reminders into exchanges of their own.
type Reminders struct {
	Agenda  Agenda
	Turn    session.Remind
	Budget  session.Budget
	Entropy io.Reader
	Watcher Watcher
	// Wake is called when messages may have been queued; may be nil.
	Wake func()

	setBack setBack
}

// Round handles the reminders that are due at now, all of one person in one
// exchange, and returns how many it handled. A reminder whose turn fails is
// removed and reported, or it would come back for ever. A reminder whose write
// the store refused stays for later; the next ones are still tried, unless the
// store takes no writes at all.
func (r *Reminders) Round(ctx context.Context, now time.Time) (dealt int, err error) {
	if err := r.setBack.look(func() error { return r.putRight(ctx, now) }, now); err != nil { // and go on: what can be read is not kept waiting
		r.Watcher.Failed("put right reminders of a clock that was ahead", err)
	}
	due, err := r.due(ctx, now)
	if err != nil {
		r.Watcher.Failed("list due reminders", err)
		return 0, err
	}
	var problems []error
	for _, theirs := range due {
		n, err := r.deal(ctx, now, theirs)
		dealt += n
		if err == nil {
			continue
		}
		r.Watcher.Failed("store a reminder's turn", err)
		problems = append(problems, err)
		if takesNothing(err) {
			break
		}
	}
	if dealt > 0 && r.Wake != nil {
		r.Wake()
	}
	return dealt, errors.Join(problems...)
}

// takesNothing reports whether a store that returned err will refuse the next
// write too.
func takesNothing(err error) bool {
	all := []error{session.ErrFull, session.ErrHalted, session.ErrAway, session.ErrClosed, session.ErrBusy, context.Canceled, context.DeadlineExceeded}
	return slices.ContainsFunc(all, func(fault error) bool { return errors.Is(err, fault) })
}

// due lists the due reminders by person, in order. Alerts are joined in one
// message, so it looks for all due alerts of a person.
func (r *Reminders) due(ctx context.Context, now time.Time) (byPerson [][]session.Reminder, err error) {
	isAlert := func(one session.Reminder) bool { return one.Kind == session.AlertKind }
	due, n := []session.Reminder(nil), agendaBatch
	for due, err = r.Agenda.Due(ctx, now, n); err == nil && len(due) == n && slices.ContainsFunc(due, isAlert); due, err = r.Agenda.Due(ctx, now, n) {
		n *= 4
	}
	type whose struct {
		phone  session.Phone
		person session.PersonID
	}
	places := map[whose]int{}
	for _, one := range due {
		w := whose{one.Phone, one.Person}
		i, seen := places[w]
		if !seen {
			i = len(byPerson)
			places[w], byPerson = i, append(byPerson, nil)
		}
		byPerson[i] = append(byPerson[i], one)
	}
	return byPerson, err
}

// deal runs the turn of one person's reminders. The reminders are removed in
// the same exchange, so that two gateways over one store remind only once. If
// the turn fails with several reminders, each gets a turn of its own.
func (r *Reminders) deal(ctx context.Context, now time.Time, theirs []session.Reminder) (dealt int, err error) {
	var fault error
	turn := func(v session.View) (session.Writes, error) {
		entropy, err := Bits(r.Entropy)
		if err != nil {
			return session.Writes{}, err
		}
		writes, err := r.Turn(v, theirs, now, entropy, r.Budget)
		fault = err
		if err != nil && len(theirs) > 1 {
			return session.Writes{}, err
		}
		if err != nil {
			writes = session.Writes{Reply: session.Reply{Silent: true}}
		}
		fired := slices.Clone(theirs)
		for i := range fired {
			fired[i].Cancel = true
		}
		// First, so that the turn may set the same reminders again after it.
		writes.Reminders = append(fired, writes.Reminders...)
		return writes, nil
	}
	_, err = r.Agenda.Exchange(ctx, session.Key{Phone: theirs[0].Phone, Asks: asksOf(theirs)}, turn)
	switch {
	case errors.Is(err, session.ErrNotFound) && fault == nil: // taken back or fired by another meanwhile
		return len(theirs), nil
	case err != nil && len(theirs) > 1 && !takesNothing(err):
		var problems []error
		for i := range theirs {
			n, err := r.deal(ctx, now, theirs[i:i+1])
			dealt, problems = dealt+n, append(problems, err)
		}
		return dealt, errors.Join(problems...)
	case fault != nil:
		r.Watcher.Failed("make a reminder's turn", fault)
	}
	if err != nil {
		return 0, err
	}
	return len(theirs), nil
}

// asksOf are what the turn of one person's reminders asks: who they are, the
// checks that it is about, and for a week's tally all of the week.
func asksOf(due []session.Reminder) (asks []session.Ask) {
	for _, r := range due {
		asks = append(asks, session.Ask{Kind: session.AskGrower, ID: string(r.Person)})
		if r.Slip != "" {
			asks = append(asks, session.Ask{Kind: session.AskCheck, ID: string(r.Slip), N: session.MostOfMember})
		}
		switch r.Kind {
		case session.TallyKind:
			asks = append(asks, session.Ask{Kind: session.AskOwn, N: session.MostTallied})
		case session.UnfinishedKind:
			asks = append(asks, session.Ask{Kind: session.AskRoster})
		}
	}
	return asks
}

// Bits reads 128 fresh random bits for one run of a turn.
func Bits(source io.Reader) (bits [2]uint64, err error) {
	var raw [16]byte
	if _, err := io.ReadFull(source, raw[:]); err != nil {
		return bits, fmt.Errorf("dispatch: no random bits: %w", err)
	}
	bits[0], bits[1] = binary.LittleEndian.Uint64(raw[:8]), binary.LittleEndian.Uint64(raw[8:])
	return bits, nil
}

// Sweeper is the part of a store that the sweep loop needs.
type Sweeper interface {
	// Sweep removes up to n records that have expired by now, and returns how many.
	Sweep(ctx context.Context, now time.Time, n int) (int, error)
}

// Sweep removes what has expired by now, in small steps so that exchanges get
// their turn in between.
func Sweep(ctx context.Context, s Sweeper, now time.Time) (removed int, err error) {
	for {
		n, err := s.Sweep(ctx, now, agendaBatch)
		removed += n
		if err != nil || n < agendaBatch {
			return removed, err
		}
	}
}

// Every calls work at each tick until ctx is done or the ticks end. While work
// says that there is more, it is called again at once. work reports its errors
// itself; the next tick tries again.
func Every(ctx context.Context, tick <-chan time.Time, work func(context.Context) (more bool, err error)) {
	for {
		select {
		case <-ctx.Done():
			return
		case _, open := <-tick:
			if !open {
				return
			}
		}
		for more := true; more && ctx.Err() == nil; {
			var err error
			if more, err = work(ctx); err != nil {
				break
			}
		}
	}
}

// Exchanger runs turns: a store.
type Exchanger interface {
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
}

// Join puts an alert together with others, in one message to the coordinator at
// the next full hour. See Config.Join.
func Join(ctx context.Context, store Exchanger, alert session.Outgoing, now time.Time) error {
	_, err := store.Exchange(ctx, session.Key{}, func(v session.View) (session.Writes, error) {
		w := session.Writes{Reply: session.Reply{Silent: true}}
		p, err := v.PersonByPhone(alert.To)
		if errors.Is(err, session.ErrNotFound) { // who was forgotten is told nothing
			return w, nil
		}
		w.Reminders = []session.Reminder{session.AlertOf(&p, alert.Slip, now)}
		return w, err
	})
	return err
}
