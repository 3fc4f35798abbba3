package main

import (
	"io"
	"os"

	"threshline/cmd/threshline/progress"
)

// largeInput is the size in bytes from which a command that writes while it
// reads shows its progress.
const largeInput = 1 << 20

// reading shows how much of a regular file is read, on standard error.
func (std stdio) reading(what string, file *os.File) *progress.Bar {
	info, err := file.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return nil // what somebody types, or a pipe
	}
	return std.taking(what, info.Size())
}

// taking shows how many of so many bytes have come, on standard error.
func (std stdio) taking(what string, total int64) *progress.Bar {
	return progress.Bytes(std.err, what, total)
}

// readLarge is the file of a command that prints as it reads: it shows where it
// is when the file is large and what it prints goes elsewhere.
func (std stdio) readLarge(what string, in io.Reader) (io.Reader, func()) {
	file, ok := in.(*os.File)
	if !ok || progress.Terminal(std.out) {
		return in, func() {}
	}
	if info, err := file.Stat(); err != nil || info.Size() < largeInput {
		return in, func() {}
	}
	bar := std.reading(what, file)
	return bar.Reader(in), bar.End
}
