// Package standard holds published tables for grading paddy, each as data with
// its source, and reads a programme's own tables in the same format, which
// FORMAT.md describes.
//
// It decides nothing about a lot: package grading does.
package standard

import (
	"embed"
	"errors"
	"fmt"
	"slices"
	"strings"

	"threshline/grading"
)

// ErrUnknown is wrapped by the error for an id that no shipped standard has.
var ErrUnknown = errors.New("standard: unknown id")

//go:embed *.toml
var files embed.FS

// ByID loads a shipped standard. The file of a standard is named by its id.
// Errors wrap ErrUnknown.
func ByID(id string) (*grading.Standard, error) {
	data, err := files.ReadFile(id + ".toml")
	if err != nil {
		ids := IDs()
		hint := ""
		if near := nearest(id, ids); near != "" {
			hint = fmt.Sprintf(", did you mean %q?", near)
		}
		return nil, fmt.Errorf("%w %q (shipped: %s%s)", ErrUnknown, id, strings.Join(ids, ", "), hint)
	}
	return Load(id+".toml", data, ByID)
}

// IDs lists the shipped standards in alphabetical order.
func IDs() []string {
	entries, err := files.ReadDir(".")
	if err != nil {
		return nil
	}
	ids := make([]string, 0, len(entries))
	for _, e := range entries {
		ids = append(ids, strings.TrimSuffix(e.Name(), ".toml"))
	}
	slices.Sort(ids)
	return ids
}

// Builtin loads every shipped standard, in the order of IDs.
func Builtin() ([]*grading.Standard, error) {
	ids := IDs()
	out := make([]*grading.Standard, 0, len(ids))
	for _, id := range ids {
		s, err := ByID(id)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}
