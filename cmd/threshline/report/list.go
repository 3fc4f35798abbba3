package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"

	"threshline/grading"
)

// list is objects one after another, which are read on after text that is not JSON.
type list struct {
	in   io.Reader
	room []byte
	head []byte        // read from in, and not used yet
	dec  *json.Decoder // of what does not stand one to a line; nil while all does
}

func newList(in io.Reader) *list { return &list{in: in, room: make([]byte, 1<<16)} }

// next reads the next object as grading.ReadJSON does, in less time where it has a line
// to itself.
func (l *list) next() (grading.Readings, map[string]json.RawMessage, error) {
	if line, ok := l.line(); ok {
		r, extra, err := grading.ReadObject(line)
		var input *grading.InputError
		if err == nil || errors.As(err, &input) && json.Valid(line) {
			l.head = l.head[len(line)+1:]
			return r, extra, err
		}
	}
	if l.dec == nil {
		l.dec = json.NewDecoder(l)
	}
	return grading.ReadJSON(l.dec)
}

// line is the next line that is not empty; ok is false where its end is not known.
func (l *list) line() (line []byte, ok bool) {
	for l.dec == nil {
		switch end := bytes.IndexByte(l.head, '\n'); {
		case end < 0 && !l.more():
			return nil, false
		case end < 0:
		case len(bytes.Trim(l.head[:end], " \t\r")) == 0:
			l.head = l.head[end+1:]
		default:
			return l.head[:end], true
		}
	}
	return nil, false
}

// more reads on behind head; false at the end of the input, or when the room is full.
func (l *list) more() bool {
	have := copy(l.room, l.head)
	if have < len(l.head) {
		return false
	}
	n, _ := l.in.Read(l.room[have:])
	l.head = l.room[:have+n]
	return n > 0
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
	l.dec = nil
	broken, lineStart := false, false
	for l.fill() {
		switch c := l.head[0]; {
		case c == '\n':
			lineStart = broken
		case c == ' ' || c == '\t' || c == '\r':
		case c == '{' && lineStart:
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
	for len(l.head) == 0 {
		n, err := l.in.Read(l.room)
		if l.head = l.room[:n]; n == 0 && err != nil {
			return false
		}
	}
	return true
}
