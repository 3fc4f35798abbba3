// Package disk puts files in place whole, or not at all.
package disk

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// Mode keeps phone numbers from other users of the machine.
const Mode = 0o600

// ErrLocked: another process has locked the file.
var ErrLocked = errors.New("in use by another process")

// Replace has write make a file under a temporary name beside path, then puts
// it in path's place for good.
func Replace(path string, write func(part string) error) error {
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

// Write makes a file and syncs it.
func Write(path string, write func(io.Writer) error) (err error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, Mode)
	if err != nil {
		return err
	}
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	return f.Sync()
}

// Stoppable is a writer that a context stops.
func Stoppable(ctx context.Context, w io.Writer) io.Writer { return stoppable{ctx, w} }

type stoppable struct {
	ctx context.Context
	w   io.Writer
}

func (s stoppable) Write(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.w.Write(b)
}

// NoRoom reports whether a write failed for want of room, which can pass.
func NoRoom(err error) bool {
	for _, cause := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		// Some libraries keep only the cause's text.
		if errors.Is(err, cause) || err != nil && strings.HasSuffix(err.Error(), cause.Error()) {
			return true
		}
	}
	return false
}
