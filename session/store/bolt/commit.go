package bolt

import (
	"context"
	"errors"
	"fmt"
	"runtime"

	"go.etcd.io/bbolt"

	"threshline/session"
)

// groupSize bounds how many jobs one commit takes.
const groupSize = 1000

// mostRounds is how often the committer lets others run before it takes a group.
// Measured: on a machine that is busy, more in a group saves more than it delays.
const mostRounds = 4

// work is something to write. Both methods run in the committer, one work
// after the other in one transaction, and may run again when a neighbour
// spoils the transaction.
type work interface {
	// check only reads. Its error refuses this work alone.
	check(*bbolt.Tx) error
	// write writes. It must not fail for a reason that check could have seen: such an
	// error costs the whole group another run without this work.
	write(*bbolt.Tx) error
}

// job is a write that waits for its commit.
type job struct {
	ctx  context.Context
	work work
	done chan error // holds one
}

// submit has the committer do w and waits until it is synced or refused. After
// queueing, a cancelled context withdraws the work only if it was not begun:
// the caller always learns what became of it.
func (s *Store) submit(ctx context.Context, w work) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("bolt: %w", err)
	}
	j, _ := s.jobs.Get().(*job)
	if j == nil {
		j = &job{done: make(chan error, 1)}
	}
	j.ctx, j.work = ctx, w
	err := s.enqueue(j)
	if err == nil {
		err = <-j.done
	}
	j.ctx, j.work = nil, nil
	s.jobs.Put(j)
	return err
}

func (s *Store) enqueue(j *job) error {
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return fmt.Errorf("bolt: %w", session.ErrClosed)
	}
	select {
	case s.queue <- j:
		return nil
	default:
		return fmt.Errorf("bolt: %w: %d writes wait", session.ErrBusy, cap(s.queue))
	}
}

// commitAll is the committer. It ends when the queue is closed and empty.
func (s *Store) commitAll() {
	defer close(s.committed)
	defer faultsPanic()()
	group := make([]*job, 0, groupSize)
	for first := range s.queue {
		// Goroutines that are about to queue a job do so first, while more come. When
		// there are none, this takes no time.
		for round, waited := 0, -1; round < mostRounds && len(s.queue) > waited; round++ {
			waited = len(s.queue)
			runtime.Gosched()
		}
		group = append(group[:0], first)
		group = s.gather(group)
		s.commit(group)
		clear(group)
	}
}

// gather adds whatever waits, without waiting itself.
func (s *Store) gather(group []*job) []*job {
	for len(group) < groupSize {
		select {
		case j, open := <-s.queue:
			if !open {
				return group
			}
			group = append(group, j)
		default:
			return group
		}
	}
	return group
}

// commit writes a group and reports to every job what became of it.
func (s *Store) commit(group []*job) {
	before := s.ill.Load()
	if before != nil && !before.passing() {
		tell(group, before)
		return
	}
	if err := s.journal.CatchUp(); err != nil {
		s.halt(group, s.commitFault(s.options.Journal, err))
		return
	}
	for tried := 0; len(group) > 0; {
		results := make([]error, len(group))
		spoiler, err := s.attempt(group, results)
		if spoiler >= 0 {
			group[spoiler].done <- fmt.Errorf("bolt: %w", err)
			group = append(group[:spoiler:spoiler], group[spoiler+1:]...)
			continue
		}
		if tried < groupSize && s.mendHere(err) {
			tried++
			continue
		}
		if err != nil {
			s.halt(group, s.commitFault(s.path, err))
			return
		}
		// What is stored is answered only when the journal holds it too; a
		// message that comes again finds it stored, and waits for the same.
		if err := s.journal.Keep(&s.records); err != nil {
			s.halt(group, s.commitFault(s.options.Journal, err))
			return
		}
		s.ill.CompareAndSwap(before, nil) // unless an inspection found damage meanwhile
		for i, j := range group {
			if x, ok := j.work.(*exchange); ok && results[i] == nil {
				s.put.Add(int64(x.size))
			}
			j.done <- results[i]
		}
		return
	}
}

// mendHere repairs the rotten entry that a commit met, and reports whether it could.
func (s *Store) mendHere(err error) bool {
	var r *rotten
	if !errors.As(err, &r) {
		return false
	}
	w, err := s.findMending(r)
	if err != nil || len(w) == 0 || s.db.Update(func(tx *bbolt.Tx) error { return s.write(w, tx) }) != nil {
		return false
	}
	s.mended.Add(int64(len(w)))
	return true
}

// halt tells a group that the file does not take it.
func (s *Store) halt(group []*job, f *Fault) {
	s.ill.Store(f)
	if !f.passing() {
		close(s.halted) // only once: nothing is tried after it
	}
	tell(group, f)
}

// attempt runs a group in one transaction. It returns the index of the job
// whose write failed, or -1; an error without a spoiler is the file's.
func (s *Store) attempt(group []*job, results []error) (spoiler int, err error) {
	spoiler = -1
	s.records.Reset()
	s.recall.Begin()
	defer func() {
		if r := recover(); r != nil {
			spoiler, err = -1, damaged(s.path, causeOf(r))
		}
	}()
	tx, err := s.db.Begin(true)
	if err != nil {
		return -1, err
	}
	defer tx.Rollback() // does nothing once committed
	tx.Bucket(checkBucket).FillPercent = appendFill
	tx.Bucket(noteBucket).FillPercent = appendFill
	for i, j := range group {
		if results[i] = j.ctx.Err(); results[i] != nil {
			continue
		}
		if results[i] = j.work.check(tx); results[i] != nil {
			continue
		}
		if err := s.write(j.work, tx); err != nil {
			return i, err
		}
		if x, ok := j.work.(*exchange); ok && s.journal != nil {
			addExchange(&s.records, x)
		}
	}
	if err := s.stamps.Load().put(tx); err != nil {
		return -1, err
	}
	s.listFree(len(group))
	made := snapshotOf(tx)
	if err := tx.Commit(); err != nil {
		return -1, err
	}
	s.recall.Committed(made)
	return -1, nil
}

// appendFill packs the pages of buckets that only grow at their end.
const appendFill = 0.9

func tell(group []*job, err error) {
	for _, j := range group {
		j.done <- err
	}
}

// passing reports whether the fault can go away while the store is open.
func (f *Fault) passing() bool { return noRoom(f.Err) }

func (s *Store) commitFault(path string, err error) *Fault {
	if noRoom(err) {
		return fault(path, session.ErrFull, err, "make room on the disk: nothing is lost, and the store goes on by itself")
	}
	return fault(path, ErrHalted, err, "check the disk, then start the program again: what was answered is stored")
}
