package bolt

import "syscall"

// letGo unmaps pages of a file mapped for reading, which come back when they
// are read.
func letGo(from uintptr, size int64) error {
	if _, _, errno := syscall.Syscall(syscall.SYS_MADVISE, from, uintptr(size), syscall.MADV_DONTNEED); errno != 0 {
		return errno
	}
	return nil
}
