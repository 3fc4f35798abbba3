package grading

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// ErrClass is what a *NameError wraps for a class that the standard does not
// have, or that it needs and nobody gave.
var ErrClass = errors.New("no such class")

// ErrParameter is what a *NameError wraps for a direct value or word of a
// parameter that the standard does not have.
var ErrParameter = errors.New("no such parameter")

// ErrFlag is what a *NameError wraps for a flag that neither the dialogue nor
// the standard knows: with a misspelt "musty", a lot must not pass as sound.
var ErrFlag = errors.New("no such flag")

// NameError is a name in the readings that the standard does not know.
type NameError struct {
	Key      string // of the input: "values.admixtur", "flags"
	Got      string
	Want     []string // what it may be
	Standard string
	Kind     error // ErrClass, ErrParameter or ErrFlag
}

func (e *NameError) Error() string {
	switch {
	case e.Got == "":
		return fmt.Sprintf("grading: %s is needed by %s, one of %q", e.Key, e.Standard, e.Want)
	case len(e.Want) == 0:
		return fmt.Sprintf("grading: %s: %v as %q in %s", e.Key, e.Kind, e.Got, e.Standard)
	}
	return fmt.Sprintf("grading: %s: %v as %q in %s, only %q", e.Key, e.Kind, e.Got, e.Standard, e.Want)
}

// Unwrap is Kind.
func (e *NameError) Unwrap() error { return e.Kind }

// ClassOf is the class that the readings are graded in: their own or the
// standard's default; "" when the standard has none. The error
// is a *NameError.
func (s *Standard) ClassOf(r *Readings) (string, error) {
	if len(s.Classes) == 0 {
		return "", nil
	}
	class := r.Class
	if class == "" {
		class = s.DefaultClass
	}
	if class == "" || !slices.Contains(s.Classes, class) {
		return "", &NameError{Key: classKey, Got: class, Want: s.Classes, Standard: s.ID, Kind: ErrClass}
	}
	return class, nil
}

// Class refuses readings that cannot be, or that the standard does not know, and
// returns the class that they are graded in. Errors are those of Grade.
func (e *Evaluator) Class(r *Readings) (string, error) {
	if err := e.check(r); err != nil {
		return "", err
	}
	return e.standard.ClassOf(r)
}

// Still is Class for a lot that differs in the changed fields alone from one of that
// class.
func (e *Evaluator) Still(r *Readings, changed FieldSet, class string) (string, error) {
	if changed == allFields {
		return e.Class(r)
	}
	return class, cmp.Or(r.checkOnly(changed), r.CheckLone())
}

// check refuses readings that cannot be and names that the standard lacks.
func (e *Evaluator) check(r *Readings) error {
	if err := cmp.Or(r.Check(), r.CheckLone()); err != nil {
		return err
	}
	for _, id := range sortedIDs(r.Values) {
		if p := e.standard.Parameter(id); p == nil || p.Unit == Word {
			return e.noParameter(valuesKey, id, func(p *Parameter) bool { return p.Unit != Word })
		}
	}
	for _, id := range sortedIDs(r.Words) {
		if p := e.standard.Parameter(id); p == nil || p.Unit != Word {
			return e.noParameter(wordsKey, id, func(p *Parameter) bool { return p.Unit == Word })
		}
	}
	for _, f := range r.Flags {
		if !e.standard.knows(f) {
			return &NameError{Key: flagsKey, Got: string(f), Want: texts(e.standard.Flags()), Standard: e.standard.ID, Kind: ErrFlag}
		}
	}
	return nil
}

// noParameter is the error for an id under key, where only some would do.
func (e *Evaluator) noParameter(key string, id ParameterID, would func(*Parameter) bool) error {
	var want []string
	for i := range e.standard.Parameters {
		if p := &e.standard.Parameters[i]; would(p) {
			want = append(want, string(p.ID))
		}
	}
	return &NameError{Key: key + "." + string(id), Got: string(id), Want: want, Standard: e.standard.ID, Kind: ErrParameter}
}

func texts[T ~string](list []T) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = string(s)
	}
	return out
}

func (s *Standard) knows(f Flag) bool {
	return slices.Contains(asked, f) ||
		slices.ContainsFunc(s.Gates, func(g Gate) bool { return slices.Contains(g.Flags, f) })
}

// Flags lists the flags that readings may carry: those of the dialogue, then
// the standard's own.
func (s *Standard) Flags() []Flag {
	out := Flags()
	for _, g := range s.Gates {
		for _, f := range g.Flags {
			if !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
	}
	return out
}

func sortedIDs[V any](m map[ParameterID]V) []ParameterID {
	if len(m) == 0 {
		return nil
	}
	ids := make([]ParameterID, 0, len(m))
	for id := range m {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}
