//go:build !unix

package disk

import "os"

// Lock makes the file at path. On this system it locks nothing.
func Lock(path string) (*os.File, error) { return os.OpenFile(path, os.O_CREATE|os.O_RDWR, Mode) }
