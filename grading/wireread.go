package grading

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// reader reads the members of one object of readings.
type reader struct {
	r     Readings
	extra map[string]json.RawMessage
}

const wantNumber = "a plain number of at most nine digits, and four decimals"

// members calls each for every member of an object, or every item of a list,
// whose name is then "". A key that comes twice, at any depth, is an *InputError.
func members(text []byte, each func(name string, value []byte) error) error {
	dec := jsontext.NewDecoder(bytes.NewBuffer(text), jsontext.AllowInvalidUTF8(true))
	open, err := dec.ReadToken()
	if err != nil {
		return err
	}
	for kind := dec.PeekKind(); kind != '}' && kind != ']'; kind = dec.PeekKind() {
		name := ""
		if open.Kind() == '{' {
			token, err := dec.ReadToken()
			if err != nil {
				return twice(err)
			}
			name = token.String()
		}
		value, err := dec.ReadValue()
		if err != nil {
			return twice(err)
		}
		if err := each(name, value); err != nil {
			return err
		}
	}
	return nil
}

// twice names the key that came twice, if that is what the error is about.
func twice(err error) error {
	var at *jsontext.SyntacticError
	if !errors.Is(err, jsontext.ErrDuplicateName) || !errors.As(err, &at) {
		return err
	}
	var names []string
	for name := range at.JSONPointer.Tokens() {
		names = append(names, name)
	}
	return &InputError{Field: strings.Join(names, "."), Want: "the key only once"}
}

func (in *reader) member(name string, value []byte) error {
	if f, ok := ParseField(name); ok {
		return in.field(f, value)
	}
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
		return members(value, func(_ string, item []byte) error {
			d, err := ParseDecimal(string(item))
			if err != nil {
				return &InputError{Field: f.String(), Want: wantNumber}
			}
			in.r.Repeats = append(in.r.Repeats, d)
			return nil
		})
	}
	d, err := ParseDecimal(string(value))
	if err != nil {
		return &InputError{Field: f.String(), Want: wantNumber}
	}
	in.r.Set(f, d)
	return nil
}

func (in *reader) values(object []byte) error {
	if string(object) == "null" {
		return nil
	}
	if object[0] != '{' {
		return &InputError{Field: valuesKey, Want: "an object of numbers"}
	}
	return members(object, func(id string, value []byte) error {
		if string(value) == "null" {
			return nil
		}
		d, err := ParseDecimal(string(value))
		if err != nil {
			return &InputError{Field: valuesKey + "." + id, Want: wantNumber}
		}
		if in.r.Values == nil {
			in.r.Values = make(map[ParameterID]Decimal, 4)
		}
		in.r.Values[ParameterID(id)] = d
		return nil
	})
}
