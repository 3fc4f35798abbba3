package grading

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"sync"

	"github.com/go-json-experiment/json/jsontext"
)

// reader reads the members of one object of readings.
type reader struct {
	dec   *jsontext.Decoder
	r     Readings
	extra map[string]json.RawMessage
}

const wantNumber = "a plain number of at most nine digits, and four decimals"

// decoders are used again and again: each has room for a whole object, and for
// the keys that came.
var decoders = sync.Pool{New: func() any { return new(jsontext.Decoder) }}

// readObject reads an object of readings.
func readObject(raw []byte) (in reader, err error) {
	in.dec = decoders.Get().(*jsontext.Decoder)
	defer decoders.Put(in.dec)
	in.dec.Reset(bytes.NewBuffer(raw), jsontext.AllowInvalidUTF8(true))
	if err = members(in.dec, in.member); err == nil && in.dec.InputOffset() != int64(len(raw)) {
		err = &InputError{Want: "one object of readings"}
	}
	return in, err
}

// members reads the next object of dec and calls each for every member, with its
// name, or the next list and calls it for every item, with none. each takes the
// value from dec. A key that comes twice, at any depth, is an *InputError.
func members(dec *jsontext.Decoder, each func(name string) error) error {
	open, err := dec.ReadToken()
	if err != nil {
		return twice(err)
	}
	object := open.Kind() == '{'
	for kind := dec.PeekKind(); kind != '}' && kind != ']'; kind = dec.PeekKind() {
		name := ""
		if object {
			key, err := dec.ReadValue()
			if err != nil {
				return twice(err)
			}
			name = unquoted(key)
		}
		if err := each(name); err != nil {
			return err
		}
	}
	_, err = dec.ReadToken()
	return twice(err)
}

// unquoted is the text of a key; of a field's name, the table's own.
func unquoted(key jsontext.Value) string {
	for _, f := range inOrder {
		if name := rows[f].name; len(key) == len(name)+2 && string(key[1:len(key)-1]) == name {
			return name
		}
	}
	text, _ := jsontext.AppendUnquote(nil, key)
	return string(text)
}

// twice names the key that came twice, if that is what the error is about.
func twice(err error) error {
	if !errors.Is(err, jsontext.ErrDuplicateName) {
		return err
	}
	var at *jsontext.SyntacticError
	if !errors.As(err, &at) {
		return err
	}
	var names []string
	for name := range at.JSONPointer.Tokens() {
		names = append(names, name)
	}
	return &InputError{Field: strings.Join(names, "."), Want: "the key only once"}
}

func (in *reader) member(name string) error {
	if f, ok := ParseField(name); ok {
		return in.field(f)
	}
	if name == valuesKey && in.dec.PeekKind() == '{' {
		return members(in.dec, in.value)
	}
	value, err := in.dec.ReadValue()
	if err != nil {
		return twice(err)
	}
	switch name {
	case valuesKey:
		if string(value) == "null" {
			return nil
		}
		return &InputError{Field: valuesKey, Want: "an object of numbers"}
	case wordsKey:
		return decode(wordsKey, value, &in.r.Words, "an object of words")
	case flagsKey:
		if string(value) != "null" {
			in.r.Looked = WasLooked
		}
		if err := decode(flagsKey, value, &in.r.Flags, "a list of words"); err != nil {
			return err
		}
		for _, flag := range in.r.Flags {
			if err := oldName(string(flag)); err != nil {
				return err
			}
		}
		return nil
	case classKey:
		return decode(classKey, value, &in.r.Class, "a word")
	case meterKey:
		return in.meter(value)
	case handKey:
		return in.hand(value)
	}
	if err := oldName(name); err != nil {
		return err
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

// meter reads a meter's name, or what is known of one that was checked.
func (in *reader) meter(value []byte) error {
	const want = "a meter's name, or {\"name\", \"bias\", \"doubt\"} of one that was checked"
	if json.Unmarshal(value, &in.r.Meter.Name) == nil {
		return nil
	}
	var m wireMeter
	dec := json.NewDecoder(bytes.NewReader(value))
	dec.DisallowUnknownFields()
	if dec.Decode(&m) != nil {
		return &InputError{Field: meterKey, Want: want}
	}
	in.r.Meter = Meter{Name: m.Name, Checked: true}
	for _, part := range [...]struct {
		text json.Number
		to   *Decimal
	}{{m.Bias, &in.r.Meter.Bias}, {m.Doubt, &in.r.Meter.Doubt}} {
		if part.text == "" {
			continue
		}
		d, err := ParseDecimal(part.text.String())
		if err != nil || d > MostBias || d < -MostBias {
			return &InputError{Field: meterKey, Want: want}
		}
		*part.to = d
	}
	if in.r.Meter.Doubt < 0 {
		return &InputError{Field: meterKey, Want: want}
	}
	return nil
}

func (in *reader) field(f Field) error {
	if f == Moisture && in.dec.PeekKind() == '[' {
		return members(in.dec, func(string) error {
			d, there, err := in.number(f.String())
			if err == nil && !there {
				err = &InputError{Field: f.String(), Want: wantNumber}
			}
			if in.r.Repeats == nil {
				in.r.Repeats = make([]Decimal, 0, usualRepeats)
			}
			in.r.Repeats = append(in.r.Repeats, d)
			return err
		})
	}
	if f == Stones && in.dec.PeekKind() == '"' {
		return in.apart()
	}
	d, there, err := in.number(f.String())
	if there {
		in.r.Set(f, d)
	}
	return err
}

// usualRepeats is how often moisture is read as a rule.
const usualRepeats = 3

// apart reads stones of which what fell through the sieve and what was picked
// were weighed apart: "0.2+0.6".
func (in *reader) apart() error {
	value, err := in.dec.ReadValue()
	if err != nil {
		return err
	}
	var text string
	if err := json.Unmarshal(value, &text); err != nil {
		return err
	}
	fell, picked, _ := strings.Cut(text, "+")
	sand, err := ParseDecimal(fell)
	rest, also := ParseDecimal(picked)
	if errors.Join(err, also) != nil {
		return &InputError{Field: Stones.String(), Want: `grams, or what fell through the sieve and what was picked: "0.2+0.6"`}
	}
	in.r.Set(Stones, sand+rest)
	in.r.Set(SandWeight, sand)
	return nil
}

// value reads one value of a parameter given directly.
func (in *reader) value(id string) error {
	d, there, err := in.number(valuesKey + "." + id)
	if there {
		if in.r.Values == nil {
			in.r.Values = make(map[ParameterID]Decimal, 4)
		}
		in.r.Values[ParameterID(id)] = d
	}
	return err
}

// number reads the number of a key; there is false for null.
func (in *reader) number(key string) (d Decimal, there bool, err error) {
	value, err := in.dec.ReadValue()
	if err != nil {
		return 0, false, twice(err)
	}
	if string(value) == "null" {
		return 0, false, nil
	}
	if d, err = ParseDecimal(string(value)); err != nil {
		return 0, false, &InputError{Field: key, Want: wantNumber}
	}
	return d, true, nil
}
