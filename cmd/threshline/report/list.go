package report

import (
	"encoding/json"
	"errors"
	"io"
)

// list is objects one after another, which are read on after text that is not JSON.
type list struct {
	dec  *json.Decoder
	in   io.Reader
	head []byte // read from in, and put back
	room []byte
}

func newList(in io.Reader) *list {
	l := &list{in: in}
	l.dec = json.NewDecoder(l)
	return l
}

// Read gives what was put back, then what follows.
func (l *list) Read(p []byte) (int, error) {
	if len(l.head) > 0 {
		n := copy(p, l.head)
		l.head = l.head[n:]
		return n, nil
	}
	return l.in.Read(p)
}

// pass reports whether the lots after a fault can still be read, and goes to the next.
// After text that is not JSON this is the next line that begins with a brace: one
// broken line of a season's list costs one lot.
func (l *list) pass(fault error) bool {
	var syntax *json.SyntaxError
	if !errors.As(fault, &syntax) {
		return !errors.Is(fault, io.ErrUnexpectedEOF) && !errors.Is(fault, io.EOF)
	}
	if unread, err := io.ReadAll(l.dec.Buffered()); err == nil {
		l.head = append(unread, l.head...)
	}
	broken, lineStart := false, false
	for l.fill() {
		switch c := l.head[0]; {
		case c == '\n':
			lineStart = broken
		case c == ' ' || c == '\t' || c == '\r':
		case c == '{' && lineStart:
			l.dec = json.NewDecoder(l)
			return true
		default:
			broken, lineStart = true, false
		}
		l.head = l.head[1:]
	}
	return false
}

// fill makes sure that head holds something; false at the end of the input.
func (l *list) fill() bool {
	if l.room == nil {
		l.room = make([]byte, 1<<16)
	}
	for len(l.head) == 0 {
		n, err := l.in.Read(l.room)
		if l.head = l.room[:n]; n == 0 && err != nil {
			return false
		}
	}
	return true
}
