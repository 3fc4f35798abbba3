package bolt

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"

	"go.etcd.io/bbolt"
)

// Removed data stays in free pages until something else is written there. Scrub
// overwrites them while the store serves: it puts zeros until no page is free,
// and removes the zeros again.

// zerosPrefix begins the names of the buckets that hold the zeros, one for each
// slice. Stores in use do not have any.
var zerosPrefix = []byte("zeros ")

const (
	// scrubSlice is how many pages one commit writes over, few enough that
	// exchanges hardly wait; the last one takes whatever is left.
	scrubSlice = 1000
	// zeroLength is such that some zeros fill a page of 4 KiB or more: a leaf has a
	// head of 16 bytes, and takes 16 and the key's 8 for each.
	zeroLength  = 1300
	zeroAround  = 24
	leafHead    = 16
	roomForRest = 100 // pages that the last slice takes beyond what is free
)

// Scrubbed says what Scrub did, in bytes: what was free and is written over, and
// what was free but is still needed by a reader, such as a backup under way.
type Scrubbed struct{ Cleared, Left int64 }

// Scrub overwrites removed data. From time to time it reports to progress, if
// not nil, how many bytes of how many are overwritten.
func (s *Store) Scrub(ctx context.Context, progress func(done, of int64)) (done Scrubbed, err error) {
	// Pages that were freed last are really free two commits later.
	for range 2 {
		if err := s.submit(ctx, nothing{}); err != nil {
			return done, err
		}
	}
	size := int64(s.db.Info().PageSize)
	for w := (&scrub{}); !w.all && err == nil; w.slice++ {
		stats := s.db.Stats()
		w.all = stats.FreePageN <= 2*scrubSlice
		if err = s.submit(ctx, w); err == nil {
			done.Cleared += int64(w.covered) * size
		}
		if progress != nil {
			progress(done.Cleared, done.Cleared+max(0, int64(stats.FreePageN-w.covered)*size))
		}
	}
	stats := s.db.Stats()
	if stats.PendingPageN > 2*scrubSlice {
		done.Left = int64(stats.PendingPageN) * size
	}
	for u := (&unscrub{left: true}); u.left; {
		if last := s.submit(context.WithoutCancel(ctx), u); last != nil {
			return done, errors.Join(err, last)
		}
	}
	return done, err
}

// scrub puts zeros into many free pages, or into all.
type scrub struct {
	slice   uint32
	all     bool
	covered int // pages
}

func (*scrub) check(*bbolt.Tx) error { return nil }

func (w *scrub) write(tx *bbolt.Tx) error {
	b, err := tx.CreateBucket(binary.BigEndian.AppendUint32(bytes.Clone(zerosPrefix), w.slice))
	if err != nil {
		return err
	}
	b.FillPercent = 1
	w.covered = scrubSlice
	if w.all {
		// What is free changes no more in this transaction: all of it is used when
		// more is asked for, and the file grows by the rest. The last commits' pages
		// have become free since they were counted.
		stats := tx.DB().Stats()
		w.covered = stats.FreePageN + min(stats.PendingPageN, 2*scrubSlice)
	}
	zeros := make([]byte, zeroLength)
	perPage := (tx.DB().Info().PageSize - leafHead) / (zeroLength + zeroAround)
	for i := range (w.covered + roomForRest) * perPage {
		if err := b.Put(number(uint64(i)), zeros); err != nil {
			return err
		}
	}
	return nil
}

// unscrub gives the pages of a slice back; left reports whether there are more.
type unscrub struct{ left bool }

func (*unscrub) check(*bbolt.Tx) error { return nil }

func (u *unscrub) write(tx *bbolt.Tx) error {
	name, _ := tx.Cursor().Seek(zerosPrefix)
	if u.left = bytes.HasPrefix(name, zerosPrefix); !u.left {
		return nil
	}
	return tx.DeleteBucket(bytes.Clone(name))
}
