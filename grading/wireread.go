package grading

import (
	"bytes"
	"encoding/json"
	"strings"
	"unicode/utf8"
)

// reader reads the members of one object of readings.
type reader struct {
	r     Readings
	extra map[string]json.RawMessage
	seen  FieldSet // fields that came
	other []string
}

const wantNumber = "a plain number of at most nine digits, and four decimals"

func (in *reader) member(name string, value []byte) error {
	if f, ok := ParseField(name); ok {
		if in.seen.Has(f) {
			return &InputError{Field: name, Want: "the key only once"}
		}
		in.seen = in.seen.With(f)
		return in.field(f, value)
	}
	for _, old := range in.other {
		if old == name {
			return &InputError{Field: name, Want: "the key only once"}
		}
	}
	in.other = append(in.other, name)
	switch name {
	case valuesKey:
		return in.values(value)
	case wordsKey:
		return decode(wordsKey, value, &in.r.Words, "an object of words")
	case flagsKey:
		if string(value) != "null" {
			in.r.Looked = WasLooked
		}
		return decode(flagsKey, value, &in.r.Flags, "a list of words")
	case classKey:
		return decode(classKey, value, &in.r.Class, "a word")
	}
	if in.extra == nil {
		in.extra = make(map[string]json.RawMessage)
	}
	in.extra[name] = bytes.Clone(value)
	return nil
}

func decode(name string, value []byte, to any, want string) error {
	if json.Unmarshal(value, to) != nil {
		return &InputError{Field: name, Want: want}
	}
	return nil
}

func (in *reader) field(f Field, value []byte) error {
	if string(value) == "null" {
		return nil
	}
	if f == Moisture && value[0] == '[' {
		return in.repeats(value)
	}
	d, err := ParseDecimal(string(value))
	if err != nil {
		return &InputError{Field: f.String(), Want: wantNumber}
	}
	in.r.Set(f, d)
	return nil
}

func (in *reader) repeats(list []byte) error {
	items := elements{text: list, at: 1}
	for items.more() {
		d, err := ParseDecimal(string(items.value()))
		if err != nil {
			return &InputError{Field: Moisture.String(), Want: wantNumber}
		}
		in.r.Repeats = append(in.r.Repeats, d)
	}
	return nil
}

func (in *reader) values(object []byte) error {
	if string(object) == "null" {
		return nil
	}
	if object[0] != '{' {
		return &InputError{Field: valuesKey, Want: "an object of numbers"}
	}
	items := elements{text: object, at: 1}
	for items.more() {
		id := ParameterID(items.key())
		name, value := valuesKey+"."+string(id), items.value()
		if string(value) == "null" {
			continue
		}
		d, err := ParseDecimal(string(value))
		if err != nil {
			return &InputError{Field: name, Want: wantNumber}
		}
		if _, twice := in.r.Values[id]; twice {
			return &InputError{Field: name, Want: "the key only once"}
		}
		if in.r.Values == nil {
			in.r.Values = make(map[ParameterID]Decimal, 4)
		}
		in.r.Values[id] = d
	}
	return nil
}

// elements walks the members of an object or the items of a list whose text is
// known to be good JSON: the standard library has checked it before. It starts
// behind the opening bracket.
type elements struct {
	text []byte
	at   int
}

// more tells whether another element follows, and goes to its start.
func (e *elements) more() bool {
	e.skip(", \t\r\n")
	c := e.text[e.at]
	return c != '}' && c != ']'
}

func (e *elements) skip(cutset string) {
	for strings.IndexByte(cutset, e.text[e.at]) >= 0 {
		e.at++
	}
}

// key reads the name of a member and goes to its value.
func (e *elements) key() string {
	quoted := e.value()
	e.skip(": \t\r\n")
	if bytes.IndexByte(quoted, '\\') < 0 && utf8.Valid(quoted) {
		return string(quoted[1 : len(quoted)-1])
	}
	var name string
	_ = json.Unmarshal(quoted, &name) // good JSON, and a string
	return name
}

// value is the text of the value that starts here.
func (e *elements) value() []byte {
	start, depth := e.at, 0
	for {
		switch e.text[e.at] {
		case '"':
			e.str()
			if depth == 0 {
				return e.text[start:e.at]
			}
			continue
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth <= 0 {
				if depth == 0 {
					e.at++
				}
				return e.text[start:e.at]
			}
		case ',', ' ', '\t', '\r', '\n':
			if depth == 0 {
				return e.text[start:e.at]
			}
		}
		e.at++
	}
}

// str goes behind the closing quote of the string that starts here.
func (e *elements) str() {
	for e.at++; e.text[e.at] != '"'; e.at++ {
		if e.text[e.at] == '\\' {
			e.at++
		}
	}
	e.at++
}
