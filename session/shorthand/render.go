package shorthand

import (
	"strconv"
	"strings"

	"threshline/grading"
)

// example is what a right entry looks like for a list of words: the numbers of one
// invented lot.
func example(key string) string {
	switch key {
	case grading.Moisture.String():
		return "13.8 14.1 13.9"
	case grading.SampleWeight.String():
		return "20"
	case grading.Chaff.String():
		return "0.24"
	case grading.Stones.String():
		return "0.06"
	case grading.SandWeight.String():
		return "0.02"
	case grading.CleanWeight.String():
		return "19.7"
	case grading.BrownWeight.String():
		return "15.6"
	case grading.BrokenWeight.String():
		return "0.4"
	case grading.ImmatureWeight.String():
		return "0.2"
	case grading.Counted.String():
		return "100"
	case grading.Discoloured.String():
		return "1"
	case grading.Red.String():
		return "2"
	case bagsKey:
		return "8x75"
	case weightKey:
		return "600"
	case growerKey:
		return "4"
	case slipKey:
		return "K7M2QX9"
	case handKey:
		return "200 12 1 6 50 4 0 1"
	case biteKey:
		return "3"
	case saltKey:
		return "2"
	}
	if _, isField := grading.ParseField(key); isField {
		return "0"
	}
	return ""
}

// Letter is the letter that is taught for a list of words, such as "M" for
// "moisture".
func (r *Reader) Letter(key string) string {
	if words := r.cat.Words(r.lang, table+key); len(words) > 0 {
		return words[0]
	}
	return strings.ToUpper(key)
}

// Name is the word that explains a letter: "chaff" for O.
func (r *Reader) Name(key string) string {
	words := r.cat.Words(r.lang, table+key)
	if len(words) > 1 {
		return words[1]
	}
	return key
}

// Example is what an entry looks like in the person's language: "O 0.24". It is "" for
// a list without an example.
func (r *Reader) Example(key string) string {
	numbers := example(key)
	if numbers == "" {
		return ""
	}
	return r.Letter(key) + " " + r.numbers(numbers)
}

// numbers writes numbers with the language's decimal mark, unless that could
// be read as thousands.
func (r *Reader) numbers(plain string) string {
	var out []string
	for _, n := range strings.Fields(plain) {
		_, tail, _ := strings.Cut(n, ".")
		if len(tail) < 3 && !strings.Contains(n, "x") {
			whole, _, point := strings.Cut(n, ".")
			if point && len(whole) < 5 {
				n = r.cat.Number(r.lang, n)
			}
		}
		out = append(out, n)
	}
	return strings.Join(out, " ")
}

// Pattern is the whole message that is taught, with example numbers, for the
// fields that the programme's standard needs: "M 13.8 14.1 13.9 S 20 ...".
func (r *Reader) Pattern(needs []grading.Field) string {
	var out []string
	for _, f := range needs {
		out = append(out, r.Example(f.String()))
	}
	return strings.Join(append(out, r.Example(bagsKey), r.Letter(lookedKey)), " ")
}

// Legend says what the letters of the pattern stand for: "M=moisture S=sample".
func (r *Reader) Legend(needs []grading.Field) string {
	var out []string
	for _, f := range needs {
		out = append(out, r.Letter(f.String())+"="+r.Name(f.String()))
	}
	out = append(out, r.Letter(bagsKey)+"="+r.Name(bagsKey), r.Letter(lookedKey)+"="+r.Name(lookedKey))
	return strings.Join(out, " ")
}

// Render writes a lot as the message that Parse reads back to the same lot.
func (r *Reader) Render(l Lot) string {
	var out []string
	if l.Grower.Short > 0 || l.Grower.Name != "" {
		out = append(out, r.Letter(growerKey))
		if l.Grower.Short > 0 {
			out = append(out, strconv.Itoa(l.Grower.Short))
		}
		if l.Grower.Name != "" {
			out = append(out, l.Grower.Name)
		}
	}
	out = append(out, r.readings(&l)...)
	if h := l.Readings.Hand; h.Made() {
		out = append(out, r.Letter(handKey), h.String())
	}
	if l.Bite > 0 {
		out = append(out, r.Letter(biteKey), strconv.Itoa(l.Bite))
	}
	if l.Salt > 0 {
		out = append(out, r.Letter(saltKey), strconv.Itoa(l.Salt))
	}
	switch {
	case l.Bags > 0 && l.BagKG > 0:
		out = append(out, r.Letter(bagsKey), strconv.Itoa(l.Bags)+"x"+kilos(l.BagKG))
	case l.Bags > 0:
		out = append(out, r.Letter(bagsKey), strconv.Itoa(l.Bags))
	}
	if l.KG > 0 {
		out = append(out, r.Letter(weightKey), kilos(l.KG))
	}
	for _, f := range l.Readings.Flags {
		out = append(out, r.Letter(string(f)))
	}
	if l.Readings.Looked == grading.WasLooked && !l.Readings.Signed() {
		out = append(out, r.Letter(lookedKey))
	}
	if l.Slip != "" {
		out = append(out, r.Letter(slipKey), l.Slip)
	}
	return strings.Join(out, " ")
}

// kilos writes kilos so that no point is taken for a mark of thousands.
func kilos(d grading.Decimal) string {
	s := d.String()
	if _, tail, _ := strings.Cut(s, "."); len(tail) == 3 {
		s += "0"
	}
	return s
}

func (r *Reader) readings(l *Lot) (out []string) {
	for _, f := range grading.Fields() {
		switch {
		case l.unable(f):
			out = append(out, r.Letter(f.String()), r.Letter(unableKey))
		case f == grading.Moisture && len(l.Readings.Repeats) > 0:
			out = append(out, r.Letter(f.String()))
			for _, d := range l.Readings.Repeats {
				if d%grading.One == 0 {
					out = append(out, r.numbers(d.Fixed(1))) // so that 13 8 stays two readings
					continue
				}
				out = append(out, r.numbers(d.String()))
			}
		case f == grading.SandWeight && l.Readings.Has(grading.Stones): // stands there
		case f == grading.Stones && l.Readings.Has(grading.SandWeight):
			all, _ := l.Readings.Get(f)
			sand, _ := l.Readings.Get(grading.SandWeight)
			out = append(out, r.Letter(f.String()), r.numbers(sand.String())+"+"+r.numbers((all-sand).String()))
		case l.Readings.Has(f):
			d, _ := l.Readings.Get(f)
			out = append(out, r.Letter(f.String()), r.numbers(d.String()))
		}
	}
	return out
}
