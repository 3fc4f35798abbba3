package disk

import (
	"errors"
	"strings"
	"syscall"
)

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
