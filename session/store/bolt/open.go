package bolt

import (
	"errors"
	"io/fs"
	"os"
	"runtime/debug"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session/store/disk"
)

// openFile opens an inspected file for writing.
func openFile(path string, o Options) (db *bbolt.DB, err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	// While the library maps a file that outgrew its map anew, everybody waits
	// for the slowest reader, such as a backup: a large file gets ample room.
	if info, err := os.Stat(path); err == nil && o.Map >= ampleMap && info.Size() > int64(o.Map/2) {
		o.Map = int(info.Size()) * 4
	}
	return bbolt.Open(path, disk.Mode, &bbolt.Options{
		Timeout:         o.LockWait,
		FreelistType:    bbolt.FreelistMapType,
		NoFreelistSync:  true,
		InitialMmapSize: o.Map,
		MaxSize:         o.MaxSize,
	})
}

// makeNew makes an empty store unless there is a file. One without anything in
// it is what is left of a store, or of a disk: never a reason to begin anew.
// It is made under another name and moved into place whole: a power cut while
// the first pages are written leaves no half a store.
func makeNew(path string) error {
	if info, err := os.Stat(path); err == nil && info.Size() > 0 {
		return nil
	} else if err == nil {
		return damaged(path, errors.New("it is there, and empty: no store of this program ever is"))
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return disk.Replace(path, func(part string) error {
		db, err := bbolt.Open(part, disk.Mode, &bbolt.Options{Timeout: time.Second, NoFreelistSync: true, FreelistType: bbolt.FreelistMapType})
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

// recoverDamage turns what the library and the memory map do on a damaged
// page, a panic, into a Fault. It must be deferred before the first read.
func recoverDamage(path string, err *error) {
	if r := recover(); r != nil {
		*err = damaged(path, causeOf(r))
	}
}

// faultsPanic makes a read of a page that the disk cannot give a panic of this
// goroutine rather than the end of the program, until the function it returns
// is called.
func faultsPanic() (undo func()) {
	before := debug.SetPanicOnFault(true)
	return func() { debug.SetPanicOnFault(before) }
}
