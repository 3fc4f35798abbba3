package bolt

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session/store/bolt/pages"
	"threshline/session/store/disk"
)

// Backup writes a whole and consistent copy of the store to w while it goes on
// serving. The copy has nothing that was committed after Backup began, and no
// removed data that is only left in free pages.
func (s *Store) Backup(ctx context.Context, w io.Writer) error {
	if s.options.Copied != nil {
		w = &told{w, s.options.Copied}
	}
	return s.read(ctx, func(tx *bbolt.Tx) error {
		file, err := os.Open(s.path)
		if err != nil {
			return fmt.Errorf("bolt: backup: %w", err)
		}
		defer file.Close()
		if _, err := tx.WriteTo(&cleaner{to: disk.Stoppable(ctx, w), file: file, size: tx.Size()}); err != nil {
			return fmt.Errorf("bolt: backup: %w", err)
		}
		return nil
	})
}

// cleaner passes a copy of a file on, with zeros for the pages that are free.
type cleaner struct {
	to    io.Writer
	file  io.ReaderAt
	size  int64
	used  []bool // by page; nil until the first page came by
	page  int64  // length of one, in bytes
	at    int64
	clean []byte
}

func (c *cleaner) Write(b []byte) (n int, err error) {
	if c.used == nil { // the library writes the first page by itself
		if c.used, c.page, err = pages.Used(c.file, b, c.size); err != nil {
			return 0, err
		}
	}
	c.clean = append(c.clean[:0], b...)
	for i := int64(0); i < int64(len(b)); {
		end := min(int64(len(b)), (c.at+i)/c.page*c.page+c.page-c.at)
		if p := (c.at + i) / c.page; p < int64(len(c.used)) && !c.used[p] {
			clear(c.clean[i:end])
		}
		i = end
	}
	c.at += int64(len(b))
	return c.to.Write(c.clean)
}

// BackupFile backs up to a file: written beside it, synced, verified as
// VerifyFile does, then put in place. A file that is there already is replaced.
func (s *Store) BackupFile(ctx context.Context, path string) error {
	var err error
	for tried := 0; tried < mostMended; tried++ {
		err = disk.Replace(path, func(part string) error {
			if err := disk.Write(part, func(w io.Writer) error { return s.Backup(ctx, w) }); err != nil {
				return err
			}
			return VerifyFile(ctx, part)
		})
		// An entry that is rotten in the copy is also rotten in the store.
		var r *rotten
		if !errors.As(err, &r) || s.mend(r) != nil {
			break
		}
	}
	if err != nil {
		return fmt.Errorf("bolt: backup to %q: %w", path, err)
	}
	return nil
}

// mostMended is how many rotten entries a backup has put right before it is
// given up: a disk that lost more is not to be trusted.
const mostMended = 20

// Restore makes the store file at path from a backup, which it verifies
// first, since the library trusts whatever a file says. It refuses to replace a file unless overwrite is set: the error is
// then os.ErrExist. No process may have path open.
func Restore(ctx context.Context, path string, backup io.Reader, overwrite bool) error {
	return anew("restore to", path, overwrite, func(part string) error {
		if err := laidDown(ctx, part, backup); err != nil {
			return err
		}
		if err := VerifyFile(ctx, part); err != nil {
			return err
		}
		return unstamp(part)
	})
}

// anew makes a store file, in the place of one that is there only where that is
// wanted.
func anew(what, path string, overwrite bool, fill func(part string) error) error {
	err := os.ErrExist
	if _, is := os.Lstat(path); is != nil || overwrite {
		err = disk.Replace(path, fill)
	}
	if err != nil {
		return fmt.Errorf("bolt: %s %q: %w", what, path, err)
	}
	return nil
}

// laidDown writes a backup to a file.
func laidDown(ctx context.Context, path string, backup io.Reader) error {
	return disk.Write(path, func(w io.Writer) error { _, err := io.Copy(disk.Stoppable(ctx, w), backup); return err })
}

// VerifyFile verifies a store file that is not in use: its pages, and all that
// [Store.Verify] does. What is wrong comes back as a *Fault.
func VerifyFile(ctx context.Context, path string) (err error) {
	if _, err := os.Stat(path); err != nil {
		return fmt.Errorf("bolt: %w", err)
	}
	if err := inspect(path, time.Second); err != nil {
		return openFault(path, err)
	}
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	db, err := bbolt.Open(path, disk.Mode, &bbolt.Options{ReadOnly: true, Timeout: time.Second, FreelistType: bbolt.FreelistMapType})
	if err != nil {
		return openFault(path, err)
	}
	defer db.Close()
	return db.View(func(tx *bbolt.Tx) error {
		if err := verifyPages(tx); err != nil {
			return damaged(path, err)
		}
		if version, err := schemaOf(tx); err != nil {
			return fault(path, ErrForeign, err, "check the path: this file belongs to another program")
		} else if version > Schema {
			return later(path, version, Schema)
		} else if version < Schema {
			return nil // its pages are sound, and its records are looked at when they are brought up to date
		}
		if _, err := secretOf(tx); err != nil {
			return damaged(path, err)
		}
		return verify(ctx, tx, path)
	})
}

// InUse reports whether a process has the store file at path open for writing.
func InUse(path string) bool {
	if _, err := os.Stat(path); err != nil {
		return false
	}
	var fault *Fault
	return errors.As(inUse(path), &fault) && errors.Is(fault, ErrLocked)
}

// inUse opens a file for reading only, however damaged it is.
func inUse(path string) (err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	db, err := bbolt.Open(path, disk.Mode, &bbolt.Options{ReadOnly: true, Timeout: 200 * time.Millisecond})
	if err != nil {
		return openFault(path, err)
	}
	return db.Close()
}

// told passes on what is written and reports how much it was.
type told struct {
	to     io.Writer
	copied func(bytes int)
}

func (w *told) Write(p []byte) (int, error) {
	n, err := w.to.Write(p)
	w.copied(n)
	return n, err
}
