package screen

import (
	"slices"

	"threshline/grading"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// measures turns typed numbers into readings of the fields in order, or says
// which of them cannot be.
func measures(t *talk.Talk, still []grading.Field, numbers []talk.Typed) ([]grading.Decimal, *talk.Move) {
	numbers = joinTenths(still, numbers)
	like := like(t, still)
	var out []grading.Decimal
	for i, n := range numbers {
		f := grading.NoField
		if i < len(still) {
			f = still[i]
		}
		if n.Kilos && f.Kind() == grading.WeightField {
			n.Value, n.Thousands = n.Value*1000, false
		}
		if n.Thousands && f.Kind() != grading.CountField {
			move := talk.Refuse(t.Say("wrong.comma", "value", n.Value.String(), "like", like))
			return nil, &move
		}
		if f == grading.Moisture && (n.Value < ask.LeastMoisture || n.Value > ask.MostMoisture) {
			move := talk.Refuse(t.Say("wrong.moisture", "value", t.Number(n.Value), "like", like))
			return nil, &move
		}
		out = append(out, n.Value)
	}
	return out, nil
}

// joinTenths reads "13 8 14 1 13 9" as three moistures: a space for the mark,
// as some write, when every second number is a single digit that no moisture
// could be.
func joinTenths(still []grading.Field, numbers []talk.Typed) []talk.Typed {
	if len(still) == 0 || ask.Count(still, grading.Moisture) != len(still) || len(numbers)%2 != 0 || len(numbers)/2 > len(still) {
		return numbers
	}
	var out []talk.Typed
	for i := 0; i < len(numbers); i += 2 {
		tens, tenth := numbers[i].Value, numbers[i+1].Value
		if tens%ask.Whole != 0 || tenth%ask.Whole != 0 || tenth >= 10*ask.Whole || tens < ask.LeastMoisture {
			return numbers
		}
		one := numbers[i]
		one.Value = tens + tenth/10
		out = append(out, one)
	}
	return out
}

// parts takes numbers that a plus sign joins as one weight, where otherwise more
// came than is asked for: "7.0 0.2+0.6". first is the first number of each of
// those, by its place.
func parts(still, later []grading.Field, numbers []talk.Typed) (joined []talk.Typed, first map[int]grading.Decimal) {
	if len(numbers) <= len(still) {
		return numbers, nil
	}
	fields := slices.Concat(still, later)
	first = map[int]grading.Decimal{}
	for _, n := range numbers {
		if !n.Plus {
			joined = append(joined, n)
			continue
		}
		i := len(joined) - 1
		if i >= len(fields) || fields[i].Kind() != grading.WeightField || n.Thousands || joined[i].Thousands {
			return numbers, nil
		}
		if _, more := first[i]; !more {
			first[i] = joined[i].Value
		}
		joined[i].Value += n.Value
	}
	return joined, first
}
