package boltstore

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// fileMode keeps phone numbers from other users of the machine.
const fileMode = 0o600

// openFile opens an inspected file for writing.
func openFile(path string, o Options) (db *bolt.DB, err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	// While the library maps a file that outgrew its map anew, everybody waits
	// for the slowest reader, such as a backup: a large file gets ample room.
	if info, err := os.Stat(path); err == nil && o.Map >= ampleMap && info.Size() > int64(o.Map/2) {
		o.Map = int(info.Size()) * 4
	}
	return bolt.Open(path, fileMode, &bolt.Options{
		Timeout:         o.LockWait,
		FreelistType:    bolt.FreelistMapType,
		NoFreelistSync:  true,
		InitialMmapSize: o.Map,
		MaxSize:         o.MaxSize,
	})
}

// makeNew makes an empty store unless there is a file with something in it.
// It is made under another name and moved into place whole: a power cut while
// the first pages are written leaves no half a store.
func makeNew(path string) error {
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		return nil
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return replace(path, func(part string) error {
		db, err := bolt.Open(part, fileMode, &bolt.Options{Timeout: time.Second, NoFreelistSync: true, FreelistType: bolt.FreelistMapType})
		if err != nil {
			return err
		}
		if err := db.Update(initialise); err != nil {
			db.Close()
			return err
		}
		return db.Close()
	})
}

// replace has write make a file under a temporary name beside path, then puts
// it in path's place for good.
func replace(path string, write func(part string) error) error {
	part := path + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := write(part); err != nil {
		os.Remove(part)
		return err
	}
	if err := os.Rename(part, path); err != nil {
		os.Remove(part)
		return err
	}
	dir, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer dir.Close()
	return dir.Sync()
}

// smallest is less than any whole store has, in bytes: the library begins a
// file with four pages of 4 KiB or more.
const smallest = 4 << 12

// inspect reads the whole file once before it is opened for writing, because
// the library gives up the whole program on some kinds of damage. It finds a
// file that is cut short, pages that are not what they should be and keys out
// of order.
func inspect(path string, wait time.Duration) (err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	db, err := bolt.Open(path, fileMode, &bolt.Options{ReadOnly: true, Timeout: wait})
	if err != nil && info.Size() < smallest && !errors.Is(err, berrors.ErrInvalid) {
		return damaged(path, fmt.Errorf("cut short: %w", err))
	}
	if err != nil {
		return err
	}
	defer db.Close()
	tx, err := db.Begin(false)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if tx.Size() > info.Size() {
		return damaged(path, fmt.Errorf("cut short: %d bytes of %d are there", info.Size(), tx.Size()))
	}
	return tx.ForEach(func(name []byte, b *bolt.Bucket) error { return inspectBucket(path, name, b) })
}

func inspectBucket(path string, name []byte, b *bolt.Bucket) error {
	var last []byte
	c := b.Cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		if last != nil && bytes.Compare(last, k) >= 0 {
			return damaged(path, fmt.Errorf("keys of %q are out of order", name))
		}
		last = k
	}
	return nil
}

// recoverDamage turns what the library and the memory map do on a damaged
// page, a panic, into a Fault. It must be deferred before the first read.
func recoverDamage(path string, err *error) {
	if r := recover(); r != nil {
		*err = damaged(path, fmt.Errorf("%v", r))
	}
}

// faultsPanic makes a read of a page that the disk cannot give a panic of this
// goroutine rather than the end of the program, until the function it returns
// is called.
func faultsPanic() (undo func()) {
	before := debug.SetPanicOnFault(true)
	return func() { debug.SetPanicOnFault(before) }
}
