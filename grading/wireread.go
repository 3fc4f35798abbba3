package grading

import (
	"encoding/json"
	"maps"
	"slices"
)

// reader reads the members of one object of readings.
type reader struct {
	dec   *json.Decoder
	r     Readings
	extra map[string]json.RawMessage
	seen  []string
}

func (in *reader) member() error {
	tok, err := in.dec.Token()
	if err != nil {
		return err
	}
	name, _ := tok.(string)
	if slices.Contains(in.seen, name) {
		return &InputError{Field: name, Want: "the key only once"}
	}
	in.seen = append(in.seen, name)
	if f, ok := ParseField(name); ok {
		return in.field(f)
	}
	switch name {
	case valuesKey:
		return in.values()
	case wordsKey:
		return in.words()
	case flagsKey:
		return in.decode(flagsKey, &in.r.Flags, "a list of words")
	case classKey:
		return in.decode(classKey, &in.r.Class, "a word")
	}
	var raw json.RawMessage
	if err := in.dec.Decode(&raw); err != nil {
		return err
	}
	if in.extra == nil {
		in.extra = make(map[string]json.RawMessage)
	}
	in.extra[name] = raw
	return nil
}

// decode reads a member into v; a value of another type is an *InputError,
// broken text stays the decoder's error.
func (in *reader) decode(name string, v any, want string) error {
	err := in.dec.Decode(v)
	if _, wrongType := err.(*json.UnmarshalTypeError); wrongType {
		return &InputError{Field: name, Want: want}
	}
	return err
}

func (in *reader) field(f Field) error {
	tok, err := in.dec.Token()
	if err != nil {
		return err
	}
	switch v := tok.(type) {
	case nil:
		return nil
	case json.Number:
		return in.number(f, v)
	case json.Delim:
		if f == Moisture && v == '[' {
			return in.repeats()
		}
	}
	return &InputError{Field: f.String(), Want: wantNumber}
}

const wantNumber = "a plain number with at most four decimals"

func (in *reader) number(f Field, n json.Number) error {
	d, err := ParseDecimal(n.String())
	if err != nil {
		return &InputError{Field: f.String(), Want: wantNumber}
	}
	in.r.Set(f, d)
	return nil
}

func (in *reader) repeats() error {
	in.r.Repeats = nil
	for in.dec.More() {
		tok, err := in.dec.Token()
		if err != nil {
			return err
		}
		n, ok := tok.(json.Number)
		if !ok {
			return &InputError{Field: Moisture.String(), Want: "a list of plain numbers"}
		}
		d, err := ParseDecimal(n.String())
		if err != nil {
			return &InputError{Field: Moisture.String(), Want: wantNumber}
		}
		in.r.Repeats = append(in.r.Repeats, d)
	}
	_, err := in.dec.Token()
	return err
}

func (in *reader) values() error {
	var numbers map[ParameterID]json.Number
	if err := in.decode(valuesKey, &numbers, "an object of numbers"); err != nil {
		return err
	}
	for _, id := range slices.Sorted(maps.Keys(numbers)) {
		d, err := ParseDecimal(numbers[id].String())
		if err != nil {
			return &InputError{Field: valuesKey + "." + string(id), Want: wantNumber}
		}
		if in.r.Values == nil {
			in.r.Values = make(map[ParameterID]Decimal, len(numbers))
		}
		in.r.Values[id] = d
	}
	return nil
}

func (in *reader) words() error {
	return in.decode(wordsKey, &in.r.Words, "an object of words")
}
