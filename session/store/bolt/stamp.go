package bolt

import (
	"context"
	"encoding/binary"
	"errors"
	"os"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session/store/disk"
	"threshline/session/store/record"
)

// stampEvery is how much later a commit is than the last that was dated.
const stampEvery = time.Minute

// stamps date commits by a clock.
type stamps struct {
	now  func() time.Time
	last time.Time // used by the committer alone
}

// From now on, Stamp dates the commits, so that a later start knows to the
// minute when the last one was. The store reads no clock of its own.
func (s *Store) Stamp(now func() time.Time) { s.stamps.Store(&stamps{now: now}) }

func (s *stamps) put(tx *bbolt.Tx) error {
	if s == nil {
		return nil
	}
	now := s.now()
	if since := now.Sub(s.last); since >= 0 && since < stampEvery {
		return nil
	}
	s.last = now // a commit that fails is dated a minute later
	return tx.Bucket(aboutBucket).Put(stampKey, sealed(stampKey, number(record.Instant(now))))
}

// LastCommit is the last moment at which the last commit may have been made: time
// does not go back by what is not dated. It is zero when no commit was dated, or
// when the store was restored: then the date says nothing about the clock.
func (s *Store) LastCommit() (at time.Time) {
	_ = s.db.View(func(tx *bbolt.Tx) error {
		if v := tx.Bucket(aboutBucket).Get(stampKey); len(v) == timeSize+sumSize && binary.BigEndian.Uint32(v[timeSize:]) == sumOf(stampKey, v[:timeSize]) {
			at = record.Moment(binary.BigEndian.Uint64(v)).Add(stampEvery)
		}
		return nil
	})
	return at
}

// unstamp takes the date out of a file at rest that is restored: it may be old.
func unstamp(path string) (err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	db, err := openFile(path, Options{LockWait: time.Second}.withDefaults())
	if err != nil {
		return err
	}
	return errors.Join(db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(aboutBucket).Delete(stampKey) }), db.Close())
}

// CompactFile makes a file at rest as small as it can be, verified, and returns
// how many bytes it was and is. It tells progress, if not nil, how many entries of
// how many are copied, now and then.
func CompactFile(ctx context.Context, path string, progress func(done, of int)) (before, after int64, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return 0, 0, err
	}
	err = disk.Replace(path, func(part string) error {
		if err := Compact(path, part, progress); err != nil {
			return err
		}
		return VerifyFile(ctx, part)
	})
	if err != nil {
		return info.Size(), 0, err
	}
	now, err := os.Stat(path)
	if err != nil {
		return info.Size(), 0, err
	}
	return info.Size(), now.Size(), nil
}
