package standard

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"threshline/grading"
)

// Fault is one thing that is wrong with a standard file: where it is, what was
// found and what was expected there.
type Fault struct {
	File string
	Line int    // from 1
	Key  string // such as "parameter.moisture.unit"; "" for the file as a whole
	Got  string // as it stands in the file; "" when something is missing
	Want string
	Hint string // the name that was perhaps meant; "" when none is near
}

func (f Fault) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d: ", f.File, f.Line)
	if f.Key != "" {
		b.WriteString(f.Key + ": ")
	}
	if f.Got != "" {
		fmt.Fprintf(&b, "got %s, ", f.Got)
	}
	b.WriteString("expected " + f.Want)
	if f.Hint != "" {
		fmt.Fprintf(&b, " (did you mean %q?)", f.Hint)
	}
	return b.String()
}

// Faults is everything that is wrong with a standard file, in the order of its
// lines, so that a person can correct all of it in one go.
type Faults []Fault

func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].Error()
	}
	return "standard: " + strings.Join(lines, "\nstandard: ")
}

func (f Faults) sort() {
	slices.SortStableFunc(f, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), strings.Compare(a.Key, b.Key))
	})
}

// nearest is the candidate that got was renamed to, or one that differs in at most a
// third of its letters; "" if none is near.
func nearest(got string, candidates []string) string {
	if now := grading.Renamed(got); slices.Contains(candidates, now) {
		return now
	}
	best, distance := "", len(got)/3+1
	for _, c := range candidates {
		if d := edits(strings.ToLower(got), strings.ToLower(c)); d < distance {
			best, distance = c, d
		}
	}
	return best
}

// edits is the Levenshtein distance of two words.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}

// oneOf lists accepted words for a Want.
func oneOf(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = fmt.Sprintf("%q", w)
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return "one of " + strings.Join(quoted, ", ")
}
