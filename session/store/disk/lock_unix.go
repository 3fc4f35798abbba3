//go:build unix

package disk

import (
	"errors"
	"os"
	"syscall"
)

// Lock makes the file at path and locks it until it is closed, or this process
// ends. It returns ErrLocked while another holds it.
func Lock(path string) (*os.File, error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, Mode)
	if err != nil {
		return nil, err
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		if errors.Is(err, syscall.EWOULDBLOCK) {
			err = ErrLocked
		}
		return nil, errors.Join(err, file.Close())
	}
	return file, nil
}
