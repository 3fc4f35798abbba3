package ask

import (
	"strings"

	"threshline/grading"
	"threshline/session/talk"
)

// The moistures that a field meter can show of paddy, % wet basis, inclusive:
// what lies outside is a slip of the finger. Source: assumed.
const (
	LeastMoisture = 5 * Whole
	MostMoisture  = 40 * Whole
)

// Count is how often a field is one of the fields.
func Count(fields []grading.Field, f grading.Field) (n int) {
	for _, other := range fields {
		if other == f {
			n++
		}
	}
	return n
}

// WithoutPoints asks about moistures typed without the point, "132 133 131", where
// each would be one with it.
func WithoutPoints(t *talk.Talk, still []grading.Field, numbers []talk.Typed) (talk.Move, bool) {
	n := min(Count(still, grading.Moisture), len(numbers))
	var read []grading.Decimal
	for i, one := range numbers {
		v := one.Value
		if i < n {
			if v < 100*Whole || v%Whole != 0 || v/10 < LeastMoisture || v/10 > MostMoisture || one.Thousands {
				return talk.Move{}, false
			}
			v /= 10
		}
		read = append(read, v)
	}
	if n == 0 {
		return talk.Move{}, false
	}
	return Back(t, spokenNumbers(t, read[:n]), Typed(read), ""), true
}

// spokenNumbers writes numbers down the way the language does.
func spokenNumbers(t *talk.Talk, all []grading.Decimal) string {
	var out []string
	for _, v := range all {
		out = append(out, t.Number(v))
	}
	return strings.Join(out, " ")
}

// Several tells an entry with moisture and kg apart from a single number.
func Several(entry string) bool {
	numbers, why := talk.ReadNumbers(entry)
	return why == "" && len(numbers) > 1
}

// Question is the screen's question with its choices. The question is left out
// when the lines above say already what was wrong and show a right entry: then
// all choices fit one screen.
func Question(t *talk.Talk, question string) talk.Shown {
	if t.Led() {
		return Says("")
	}
	return Says(question)
}

// MostHeapKG is the most that a lot can weigh: wide enough for any buyer's truck.
// Source: assumed.
const MostHeapKG = 500000 * Whole
