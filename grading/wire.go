package grading

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
)

// InputError is a fault in the written form of readings: Field is the key at
// fault ("" when the text is not an object at all), Want what was expected.
type InputError struct {
	Field string
	Want  string
}

func (e *InputError) Error() string {
	if e.Field == "" {
		return "grading: readings: expected " + e.Want
	}
	return fmt.Sprintf("grading: readings: %q: expected %s", e.Field, e.Want)
}

// The keys of the written form beside the names of the fields.
const (
	valuesKey = "values"
	wordsKey  = "words"
	flagsKey  = "flags"
	classKey  = "class"
	meterKey  = "meter"
	handKey   = "by_hand"
)

// MarshalJSON writes the readings as one object: a key for each field that was
// measured, with exact numbers, then values, words, flags, class, counts by hand and meter. An
// empty list of flags says that somebody looked; none at all, that nobody did. The same
// readings always give the same bytes.
func (r Readings) MarshalJSON() ([]byte, error) {
	w := objectWriter{buf: []byte{'{'}}
	if len(r.Repeats) > 0 {
		w.key(Moisture.String())
		w.buf = append(w.buf, '[')
		for i, d := range r.Repeats {
			if i > 0 {
				w.buf = append(w.buf, ',')
			}
			w.buf = append(w.buf, d.String()...)
		}
		w.buf = append(w.buf, ']')
	}
	for _, f := range singles {
		if r.has.Has(f) {
			w.key(f.String())
			w.buf = append(w.buf, r.one[f].String()...)
		}
	}
	if err := w.rest(&r); err != nil {
		return nil, err
	}
	return append(w.buf, '}'), nil
}

// objectWriter appends the members of one JSON object.
type objectWriter struct{ buf []byte }

func (w *objectWriter) key(name string) {
	if last := w.buf[len(w.buf)-1]; last != '{' {
		w.buf = append(w.buf, ',')
	}
	w.buf = append(strconv.AppendQuote(w.buf, name), ':')
}

func (w *objectWriter) member(name string, v any) error {
	w.key(name)
	b, err := json.Marshal(v)
	w.buf = append(w.buf, b...)
	return err
}

func (w *objectWriter) rest(r *Readings) error {
	if len(r.Values) > 0 {
		exact := make(map[ParameterID]json.Number, len(r.Values))
		for id, d := range r.Values {
			exact[id] = json.Number(d.String())
		}
		if err := w.member(valuesKey, exact); err != nil {
			return err
		}
	}
	if len(r.Words) > 0 {
		if err := w.member(wordsKey, r.Words); err != nil {
			return err
		}
	}
	if len(r.Flags) > 0 || r.Looked == WasLooked {
		if err := w.member(flagsKey, append([]Flag{}, r.Flags...)); err != nil {
			return err
		}
	}
	if r.Class != "" {
		if err := w.member(classKey, r.Class); err != nil {
			return err
		}
	}
	if r.Hand.Made() {
		if err := w.member(handKey, r.Hand.wire()); err != nil {
			return err
		}
	}
	switch m := r.Meter; {
	case m.Checked:
		return w.member(meterKey, wireMeter{m.Name, json.Number(m.Bias.String()), json.Number(m.Doubt.String())})
	case m.Name != "":
		return w.member(meterKey, m.Name)
	}
	return nil
}

// wireMeter is a checked meter as it is written; one that is not is its name.
type wireMeter struct {
	Name  string      `json:"name,omitempty"`
	Bias  json.Number `json:"bias"`
	Doubt json.Number `json:"doubt,omitempty"`
}

// UnmarshalJSON reads what MarshalJSON writes; moisture may also be a single
// number. A key that is not known, or that comes twice, is an *InputError that
// names it. Null means not measured.
func (r *Readings) UnmarshalJSON(b []byte) error {
	got, extra, err := ReadJSON(json.NewDecoder(bytes.NewReader(b)))
	if err != nil {
		return err
	}
	if len(extra) > 0 {
		first := slices.Sorted(maps.Keys(extra))[0]
		return &InputError{Field: first, Want: "a field, values, words, flags, class, by_hand or meter"}
	}
	*r = got
	return nil
}

// ReadJSON reads the next object of dec as readings. Keys that readings do not
// have (the caller's own, such as the number of bags) come back unread in
// extra, nil when there are none. At the end of the input it returns io.EOF.
// Faults are *InputError with the key, or the decoder's own syntax errors.
// After an *InputError the next object can be read.
func ReadJSON(dec *json.Decoder) (Readings, map[string]json.RawMessage, error) {
	var raw json.RawMessage
	if err := dec.Decode(&raw); err != nil {
		return Readings{}, nil, err
	}
	return ReadObject(raw)
}

// ReadObject is ReadJSON of text that holds one object and nothing else. The error is
// of the first thing that is wrong with it: there may be more.
func ReadObject(text []byte) (Readings, map[string]json.RawMessage, error) {
	text = bytes.Trim(text, " \t\r\n")
	if len(text) == 0 || text[0] != '{' {
		return Readings{}, nil, &InputError{Want: "an object of readings"}
	}
	in, err := readObject(text)
	if err != nil {
		return Readings{}, nil, err
	}
	return in.r, in.extra, nil
}
