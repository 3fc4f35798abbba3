package bolt

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session/store/disk"
)

// compactSlice is how many entries one transaction of a compaction writes.
const compactSlice = 50_000

// Compact copies the store file at src, which must not be in use, to a new file
// dst without the room that was freed and not used again. From time to time it
// reports to progress, if not nil, how many entries of how many are copied. A
// file at dst is replaced. The caller moves dst into place.
func Compact(src, dst string, progress func(done, of int)) (err error) {
	if err := inspect(src, time.Second); err != nil {
		return openFault(src, err)
	}
	defer recoverDamage(src, &err)
	defer faultsPanic()()
	from, err := bbolt.Open(src, disk.Mode, &bbolt.Options{ReadOnly: true, Timeout: time.Second})
	if err != nil {
		return openFault(src, err)
	}
	defer from.Close()
	err = disk.Replace(dst, func(part string) error {
		return filled(part, func(to *bbolt.DB) error {
			return from.View(func(tx *bbolt.Tx) error { return copyAll(tx, to, asItIs, progress) })
		})
	})
	if err != nil {
		return fmt.Errorf("bolt: compact %q to %q: %w", src, dst, err)
	}
	return nil
}

// filled makes a new file, without a sync before it is full.
func filled(path string, fill func(*bbolt.DB) error) error {
	db, err := bbolt.Open(path, disk.Mode, &bbolt.Options{NoSync: true, NoFreelistSync: true, FreelistType: bbolt.FreelistMapType})
	if err != nil {
		return err
	}
	if err := fill(db); err != nil {
		return errors.Join(err, db.Close())
	}
	return finish(db, path)
}

// finish closes a new file, cuts off the room that was laid out beyond its
// last page, and syncs it.
func finish(db *bbolt.DB, path string) error {
	var size int64
	err := db.View(func(tx *bbolt.Tx) error { size = tx.Size(); return nil })
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR, disk.Mode)
	if err != nil {
		return err
	}
	return errors.Join(f.Truncate(size), f.Sync(), f.Close())
}

// change is what becomes of an entry that is copied; no key drops it.
type change func(bucket, k, v []byte) (key, value []byte, err error)

func asItIs(_, k, v []byte) (key, value []byte, err error) { return k, v, nil }

// copyAll copies every bucket, in key order.
func copyAll(tx *bbolt.Tx, to *bbolt.DB, change change, progress func(done, of int)) error {
	if _, err := schemaOf(tx); err != nil {
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	c := &copier{to: to, change: change, progress: progress}
	err := tx.ForEach(func(_ []byte, b *bbolt.Bucket) error { c.of += entries(b); return nil })
	if err != nil {
		return err
	}
	return tx.ForEach(func(name []byte, b *bbolt.Bucket) error {
		if bytes.HasPrefix(name, zerosPrefix) {
			return nil
		}
		k, v := b.Cursor().First()
		for first := true; first || k != nil; first = false {
			if k, v, err = c.slice(name, b, k, v); err != nil {
				return err
			}
		}
		return nil
	})
}

type copier struct {
	to       *bbolt.DB
	change   change
	progress func(done, of int)
	done, of int
}

// slice copies one transaction's worth from k on, and returns where to go on.
func (c *copier) slice(name []byte, from *bbolt.Bucket, k, v []byte) (nextK, nextV []byte, err error) {
	err = c.to.Update(func(tx *bbolt.Tx) error {
		b, err := tx.CreateBucketIfNotExists(name)
		if err != nil {
			return err
		}
		b.FillPercent = appendFill
		if err := b.SetSequence(from.Sequence()); err != nil {
			return err
		}
		cursor := from.Cursor()
		if k != nil {
			k, v = cursor.Seek(k)
		}
		for n := 0; k != nil && n < compactSlice; n++ {
			key, value, err := c.change(name, k, v)
			if err == nil && key != nil {
				err = b.Put(key, value)
			}
			if err != nil {
				return err
			}
			c.done++
			k, v = cursor.Next()
		}
		return nil
	})
	if c.progress != nil && err == nil {
		c.progress(c.done, c.of)
	}
	return k, v, err
}
