package bolt

import (
	"errors"
	"fmt"
	"os"
	"syscall"

	berrors "go.etcd.io/bbolt/errors"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/record"
)

// What can be wrong with a store file. Each comes wrapped in a Fault, which
// knows what to do about it.
var (
	// ErrLocked: another process has the file open.
	ErrLocked = errors.New("in use by another process")
	// ErrDamaged: the file is a store, but parts of it cannot be read.
	ErrDamaged = record.ErrDamaged
	// ErrForeign: the file is something else.
	ErrForeign = errors.New("not a store of this program")
	// ErrNewer: a later version of the program wrote the file.
	ErrNewer = record.ErrNewer
	// ErrReadOnly: the file or its directory cannot be written.
	ErrReadOnly = errors.New("cannot be written")
	// ErrHalted: a commit failed in a way that leaves the file's state in
	// doubt; nothing more is written until the store is opened again.
	ErrHalted = errors.New("halted after a failed write")
)

// Fault is a fault of the file, with what to do about it.
type Fault struct {
	Path string
	Err  error // wraps one of the errors above, or session.ErrFull
	hint string
}

// Error says what is wrong with which file.
func (f *Fault) Error() string { return fmt.Sprintf("bolt: %q: %v", f.Path, f.Err) }

// Unwrap returns what the fault wraps.
func (f *Fault) Unwrap() error { return f.Err }

// Is reports whether the fault means, in the terms of the contract, that the
// store takes no more writes.
func (f *Fault) Is(target error) bool {
	return target == session.ErrHalted && (errors.Is(f.Err, ErrHalted) || errors.Is(f.Err, ErrDamaged))
}

// Hint says in one sentence what to do.
func (f *Fault) Hint() string { return f.hint }

func fault(path string, kind, cause error, hint string) *Fault {
	err := kind
	if cause != nil {
		err = fmt.Errorf("%w: %w", kind, cause)
	}
	return &Fault{Path: path, Err: err, hint: hint}
}

// openFault sorts an error met while opening path.
func openFault(path string, err error) error {
	var known *Fault
	switch {
	case errors.As(err, &known):
		return known
	case errors.Is(err, ErrDamaged):
		return damaged(path, err)
	case errors.Is(err, berrors.ErrTimeout):
		return fault(path, ErrLocked, nil, "stop the other process that uses this file, or ask it through its own address")
	case errors.Is(err, berrors.ErrInvalid), errors.Is(err, berrors.ErrVersionMismatch), errors.Is(err, berrors.ErrChecksum):
		return fault(path, ErrForeign, err, "check the path; if this was a store, its first pages are gone: restore a backup")
	case noRoom(err):
		return fault(path, session.ErrFull, err, "make room on the disk, then start again")
	case errors.Is(err, os.ErrPermission), errors.Is(err, syscall.EROFS):
		return fault(path, ErrReadOnly, err, "give the program's user the right to write the file and its directory, on a disk that is not mounted read-only")
	}
	return fmt.Errorf("bolt: %q: %w", path, err)
}

func damaged(path string, cause error) *Fault {
	return fault(path, ErrDamaged, cause, "keep this file for study and restore the last backup in its place")
}

// noRoom reports whether a write failed for want of room, which can pass.
func noRoom(err error) bool { return errors.Is(err, berrors.ErrMaxSizeReached) || disk.NoRoom(err) }
