package main

import (
	"cmp"
	"context"
	"fmt"
	"reflect"
	"slices"
	"time"

	"threshline/gateway"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/store/bolt"
	"threshline/session/store/mem"
	"threshline/session/store/record"
)

// memoryEngine is a store in memory that outlives the station's stop.
type memoryEngine struct {
	*mem.Store
	s *simulation
}

func (memoryEngine) BackupFile(context.Context, string) error { return mem.ErrMemory }
func (memoryEngine) Halted() <-chan struct{}                  { return nil }
func (memoryEngine) Close() error                             { return nil }

// LastCommit and Stamp are a file's, so that a start can hold its clock against
// the last one's.
func (e memoryEngine) LastCommit() time.Time      { return e.s.committed }
func (e memoryEngine) Stamp(now func() time.Time) { e.s.stamp = now }

func (e memoryEngine) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	return e.s.exchange(ctx, e.Store, key, turn)
}

// diskEngine is a store in a file.
type diskEngine struct {
	*bolt.Store
	s *simulation
}

func (e diskEngine) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	return e.s.exchange(ctx, e.Store, key, turn)
}

// Settle, Filed and Sent are the store's, but for what is planted.
func (e memoryEngine) Settle(ctx context.Context, o session.Outgoing) error {
	if e.s.plant.unsettled && e.s.random.IntN(8) == 0 {
		return nil
	}
	return e.Store.Settle(ctx, o)
}

func (e memoryEngine) Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error) {
	due, err := e.Store.Due(ctx, now, n)
	if e.s.plant.undue {
		due = slices.DeleteFunc(due, func(r session.Reminder) bool { return r.Kind == session.RecheckKind })
	}
	return due, err
}

func (e memoryEngine) Sweep(ctx context.Context, now time.Time, n int) (int, error) {
	if e.s.plant.unswept {
		return 0, session.ErrHalted
	}
	return e.Store.Sweep(ctx, now, n)
}

func (e memoryEngine) Newest(ctx context.Context, n int) ([]session.Check, error) {
	if e.s.plant.newest {
		n = min(n, programme.LearnFrom)
	}
	return e.Store.Newest(ctx, n)
}

func (e memoryEngine) SetBack(ctx context.Context, now time.Time, lease time.Duration) error {
	if e.s.plant.stuck {
		return nil
	}
	return e.Store.SetBack(ctx, now, lease)
}

func (e memoryEngine) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	if e.s.plant.skips && after > 0 {
		after++
	}
	return e.Store.Filed(ctx, after, n)
}

func (e memoryEngine) Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error) {
	if e.s.plant.unspent {
		return nil, nil
	}
	return e.Store.Sent(ctx, after, n)
}

// exchange has the store do it, and tells the truth what was stored.
func (s *simulation) exchange(ctx context.Context, store gateway.Store, key session.Key, turn session.Turn) (session.Outcome, error) {
	var meant, wrote session.Writes
	if s.plant.key != nil {
		s.plant.key(s, &key)
	}
	if s.plant.lose && key.Duplicate != "" && s.chance(30) {
		var w session.Writes
		err := s.station.store.Read(ctx, func(v session.View) (err error) { w, err = turn(v); return err })
		return session.Outcome{Reply: w.Reply, Runs: 1}, err
	}
	out, err := store.Exchange(ctx, key, func(v session.View) (w session.Writes, err error) {
		lists := &listed{View: v}
		w, err = turn(lists)
		if s.plant.meddles && len(lists.handed) > 0 && len(lists.handed[0].list) > 0 {
			lists.handed[0].list[0].Grade = "another"
		}
		err = cmp.Or(err, lists.unchanged())
		meant = w
		if err == nil && s.plant.writes != nil {
			meant.Outgoing = slices.Clone(w.Outgoing)
			s.plant.writes(s, &w)
		}
		if wrote = w; err == nil && s.plant.stored != nil {
			s.plant.stored(s, &w)
		}
		return w, err
	})
	s.lock.Lock() // messages under way may write, too
	defer s.lock.Unlock()
	if key.Duplicate != "" { // else the gateway only looks
		s.duplicate = out.Duplicate
	}
	if err == nil && !out.Duplicate {
		if s.stamp != nil {
			s.committed = s.stamp()
		}
		s.truth.wrote(s, &wrote)
		for _, o := range meant.Outgoing {
			s.truth.meant[o.ID] = o.Purpose
		}
	}
	return out, err
}

// listed is a view that knows which checks it listed: nobody may change them.
type listed struct {
	session.View
	handed []handedOut
}

// handedOut are listed checks, and what they were.
type handedOut struct {
	list, was []session.Check
}

func (v *listed) ChecksOf(grower session.PersonID, n int) ([]session.Check, error) {
	list, err := v.View.ChecksOf(grower, n)
	v.handed = append(v.handed, handedOut{list, copied(list)})
	return list, err
}

func (v *listed) unchanged() error {
	for _, h := range v.handed {
		if is := copied(h.list); !reflect.DeepEqual(is, h.was) {
			return fmt.Errorf("a turn changed what it was listed, %+v, into %+v", h.was, is)
		}
	}
	return nil
}

// copied are the checks as a store would give them.
func copied(list []session.Check) []session.Check {
	all := make([]session.Check, len(list))
	for i := range list {
		if err := record.Decode(record.Encode(nil, &list[i], record.Check), &all[i], record.Check); err != nil {
			panic(err)
		}
	}
	return all
}
