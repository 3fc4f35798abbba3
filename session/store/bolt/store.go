// Package bolt keeps a programme in one file, for one gateway on one machine.
package bolt

import (
	"errors"
	"sync"
	"sync/atomic"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session/store/journal"
	"threshline/session/store/recent"
	"threshline/session/store/record"
)

// Options are what an operator may set. The zero value is good for use.
type Options struct {
	// KeepSent is how long a message that needs nothing more is kept for the
	// desk, counted from its last change; 0 is 30 days.
	KeepSent time.Duration
	// Waiting bounds how many writes may wait for the committer; more are
	// turned away with session.ErrBusy. 0 is 4096.
	Waiting int
	// MaxSize bounds the file in bytes; 0 is no bound but the disk's.
	MaxSize int
	// Copied is called with the number of bytes that a backup has copied since the
	// last call; may be nil.
	Copied func(bytes int)
	// LockWait is how long Open waits for another process to let go of the
	// file; 0 is one second.
	LockWait time.Duration
	// Map is how many bytes of address space are reserved for the file at
	// once, so that its growth seldom stops readers; 0 is 1 GiB where
	// addresses have 64 bits, more for a file that is half as large already,
	// and nothing elsewhere.
	Map int
	// Inspect is the size up to which a file is read whole before it is opened,
	// in bytes; of a larger one a few pages, and the rest by [Store.Inspect].
	// 0 is 64 MiB, less than a second on a slow disk.
	Inspect int64
	// Journal is the path of a second, plain file that keeps every check and
	// every person besides, best on another disk; empty keeps none.
	Journal string
}

// inspectUpTo is the Inspect when none is set.
const inspectUpTo = 64 << 20

// ampleMap is the Map where addresses are plenty.
const ampleMap = 1 << 30

func (o Options) withDefaults() Options {
	if o.KeepSent <= 0 {
		o.KeepSent = 30 * 24 * time.Hour
	}
	if o.Waiting <= 0 {
		o.Waiting = 4096
	}
	if o.LockWait <= 0 {
		o.LockWait = time.Second
	}
	if o.Inspect <= 0 {
		o.Inspect = inspectUpTo
	}
	if o.Map <= 0 && ^uint(0)>>32 != 0 {
		o.Map = ampleMap
	}
	return o
}

// Store is an open store file. All methods may be called from any goroutine.
//
// Exchanges run side by side on read snapshots. One committer writes for all of
// them, in groups: one synced commit for everything that queued while the last
// one was syncing. No exchange waits for a group to fill. The writes of a turn
// are applied all together or not at all.
type Store struct {
	db      *bbolt.DB
	path    string
	options Options

	queue     chan *job
	gate      sync.RWMutex // held for reading while a job is put in the queue
	closed    bool         // under gate
	committed chan struct{}
	halted    chan struct{} // closed when a write failed for good
	ill       atomic.Pointer[Fault]
	mended    atomic.Int64
	put       atomic.Int64  // bytes of keys and values that exchanges put
	swept     atomic.Uint64 // the time of the last sweep: what was over then counts no more
	inspected bool          // before it was opened
	hasher    *record.Hasher
	older     *record.Hasher         // of answers that an older schema left; nil for none
	stamps    atomic.Pointer[stamps] // nil while commits are not dated
	journal   *journal.Journal       // nil when none is kept
	records   journal.Batch          // of the commit under way, for the journal
	jobs      sync.Pool              // of *job, with their channels
	recall    *recent.Records        // for exchanges
}

// Open opens the store at path, making it when there is none, and brings an
// older schema up to date. Of a large file it reads a few pages: [Store.Inspect]
// reads the rest, when there is time. What can be wrong comes back as a *Fault that wraps
// ErrLocked, ErrDamaged, ErrForeign, ErrNewer, ErrReadOnly, ErrJournal or
// session.ErrFull.
func Open(path string, options Options) (*Store, error) {
	options = options.withDefaults()
	if err := makeNew(path); err != nil {
		return nil, openFault(path, err)
	}
	inspected, err := glance(path, options)
	if err != nil {
		return nil, openFault(path, err)
	}
	if err := convert(path, options.LockWait); err != nil {
		return nil, openFault(path, err)
	}
	repaired := 0
	if inspected {
		if repaired, err = mendFile(path, options.Journal, options.LockWait); err != nil {
			return nil, openFault(path, err)
		}
	}
	db, err := openFile(path, options)
	if err != nil {
		return nil, openFault(path, err)
	}
	key, err := bringUpToDate(db, path)
	if err != nil {
		db.Close()
		return nil, openFault(path, err)
	}
	s := &Store{
		db: db, hasher: record.NewHasher(key), path: path, options: options, inspected: inspected, recall: recent.NewRecords(),
		queue: make(chan *job, options.Waiting), committed: make(chan struct{}), halted: make(chan struct{}),
	}
	s.mended.Store(int64(repaired))
	s.older = s.olderAnswers()
	if options.Journal != "" {
		s.journal, err = openJournal(db, options.Journal)
		for tried := 0; err != nil && tried < mostMended && s.mendHere(err); tried++ {
			s.journal, err = openJournal(db, options.Journal)
		}
		if err != nil {
			db.Close()
			return nil, openFault(options.Journal, err)
		}
	}
	go s.commitAll()
	return s, nil
}

// Close takes no more work, finishes the work it has, and closes the file. A
// second Close does nothing.
func (s *Store) Close() error {
	s.gate.Lock()
	if s.closed {
		s.gate.Unlock()
		return nil
	}
	s.closed = true
	close(s.queue)
	s.gate.Unlock()
	<-s.committed
	return errors.Join(s.leaveList(), s.db.Close(), s.journal.Close())
}

// Healthy returns nil while the store takes writes: after a failed commit it
// returns the *Fault, wrapping session.ErrFull when room is all it lacks (the
// next write tries again) or ErrHalted when the file is in doubt.
func (s *Store) Healthy() error {
	if f := s.ill.Load(); f != nil {
		return f
	}
	return nil
}

// Halted is closed when a commit failed in a way that leaves the file in doubt:
// only a process that opens it anew can go on.
func (s *Store) Halted() <-chan struct{} { return s.halted }

// Path is where the file lies.
func (s *Store) Path() string { return s.path }

// Written is how many bytes of pages the commits of this process wrote, without
// the small page that seals each.
func (s *Store) Written() int64 {
	stats := s.db.Stats()
	return stats.TxStats.GetPageAlloc()
}

// Put is how many bytes of keys and values the exchanges of this process put.
func (s *Store) Put() int64 { return s.put.Load() }

// Size is how large the file is, in bytes, and how much of it is free for
// reuse.
func (s *Store) Size() (file, free int64) {
	_ = s.db.View(func(tx *bbolt.Tx) error { file = tx.Size(); return nil })
	stats := s.db.Stats()
	return file, int64(stats.FreeAlloc)
}
