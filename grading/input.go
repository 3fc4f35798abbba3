package grading

import (
	"errors"
	"fmt"
	"slices"
)

// ErrClass is wrapped by the error for a class that the standard does not
// have, or that it needs and nobody gave.
var ErrClass = errors.New("grading: class")

// ErrParameter is wrapped by the error for a direct value or word of a
// parameter that the standard does not have.
var ErrParameter = errors.New("grading: parameter")

// ErrFlag is wrapped by the error for a flag that neither the dialogue nor the
// standard knows: a misspelt "musty" must not pass for a sound lot.
var ErrFlag = errors.New("grading: flag")

// ClassOf is the class that the readings are graded in: their own or the
// standard's default; "" when the standard has none. Errors wrap ErrClass.
func (s *Standard) ClassOf(r *Readings) (string, error) {
	if len(s.Classes) == 0 {
		return "", nil
	}
	class := r.Class
	if class == "" {
		class = s.DefaultClass
	}
	if class == "" || !slices.Contains(s.Classes, class) {
		return "", fmt.Errorf("%w: %q is not one of %q of %s", ErrClass, class, s.Classes, s.ID)
	}
	return class, nil
}

// check refuses readings that cannot be and names that the standard lacks.
func (e *Evaluator) check(r *Readings) error {
	if err := r.Check(); err != nil {
		return err
	}
	for _, id := range sortedIDs(r.Values) {
		if p := e.standard.Parameter(id); p == nil || p.Unit == Word {
			return fmt.Errorf("%w: values: %s has no number %q", ErrParameter, e.standard.ID, id)
		}
	}
	for _, id := range sortedIDs(r.Words) {
		if p := e.standard.Parameter(id); p == nil || p.Unit != Word {
			return fmt.Errorf("%w: words: %s has no word %q", ErrParameter, e.standard.ID, id)
		}
	}
	for _, f := range r.Flags {
		if !e.standard.knows(f) {
			return fmt.Errorf("%w: %q is not one of %q", ErrFlag, f, e.standard.Flags())
		}
	}
	return nil
}

// asked are the flags that the dialogue asks for, whatever the standard.
var asked = [...]Flag{Musty, Mouldy, Heating, TreatedSeed, OffOdour}

func (s *Standard) knows(f Flag) bool {
	return slices.Contains(asked[:], f) ||
		slices.ContainsFunc(s.Gates, func(g Gate) bool { return slices.Contains(g.Flags, f) })
}

// Flags lists the flags that readings may carry: those of the dialogue, then
// the standard's own.
func (s *Standard) Flags() []Flag {
	out := slices.Clone(asked[:])
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
