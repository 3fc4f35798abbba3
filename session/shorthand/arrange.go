package shorthand

import (
	"slices"
	"strings"

	"threshline/grading"
)

// arrange turns ways of writing into the form that the parser reads: number words,
// thousands parted by a space, "3 out of 100", and little words that are letters too.
func (t *tape) arrange() {
	t.numerals()
	if t.reader.cat.Number(t.reader.lang, "10000") == "10 000" {
		t.thousands()
	}
	for i := 0; i < len(t.elements); i++ {
		e := &t.elements[i]
		word := t.fold(e.typed)
		switch before, after := t.at(i-1), t.at(i+1); {
		case !e.isWord():
		case e.key == shareKey && t.foreignLetters(e) && after.isNumber():
			e.key = ""
		case e.typed == "x" && before.isNumber() && after.key == weightKey && t.at(i+2).isNumber():
			*e = element{sort: times, typed: e.typed, at: e.at} // "gunia 7 x kilo 80"
			t.elements = slices.Delete(t.elements, i+1, i+2)
		case e.key == growerKey && !e.short && after.isNumber() && t.at(i+2).key == bagsKey && !t.at(i+3).isNumber() && !t.weighsOne(i+3):
			e.key = fillerKey // "840 kg for 12 bags"
		case t.reader.words().particles[word] && t.little(i):
			e.key, e.short = fillerKey, false
		case e.key == pointKey && before.isNumber() && after.isNumber() && wholeRun(before.typed) && wholeRun(after.typed) && len(after.typed) < 3:
			t.elements[i-1].typed += "." + after.typed // "13 point 8"
			t.elements = slices.Delete(t.elements, i, i+2)
		case e.key == gramsKey && before.isNumber():
			t.elements[i-1].grams = true
		case e.key == grading.Counted.String() && !e.short && before.isWord() && isCount(before.key) && after.isNumber() && !t.at(i-2).isNumber():
			e.key = fillerKey // "green grains 0.4"
		case e.key == grading.Counted.String() && !e.short && after.isWord() && isCount(after.key):
			e.key = fillerKey // "punje nyeusi 2"
		}
	}
	t.shares()
}

// foreignLetters reports whether a word of one or two capitals is a little word of
// another language only. Here it may be a letter of an old card, and the number behind
// it must not be lost, as in the French "SAC 8 IN 3".
func (t *tape) foreignLetters(e *element) bool {
	return e.short && e.typed == strings.ToUpper(e.typed) && t.reader.words().own[t.fold(e.typed)] == ""
}

// isCount reports whether a word says which grains are meant. Then "grains" behind it
// says nothing new.
func isCount(key string) bool {
	f, ok := grading.ParseField(key)
	return ok && f != grading.Counted && f != grading.Moisture
}

// little reports whether the letter at i is only the little word that it can be too: no
// number of its own follows, or the word before it still waits for that number.
func (t *tape) little(i int) bool {
	before, after := t.at(i-1), t.at(i+1)
	if t.at(i).typed != strings.ToLower(t.at(i).typed) || after.key == unableKey || after.short && takesNumber(after.key) || after.key == ohKey {
		return false
	}
	if !after.isNumber() {
		return !after.isBreak() || before.isNumber()
	}
	if before.isWord() && takesNumber(before.key) {
		return true
	}
	return before.isNumber() && strings.ContainsAny(after.typed, ".,") && t.at(i-2).key == grading.Moisture.String()
}

// mostNumeral is how many words a number word has at most: "kumi na mbili".
const mostNumeral = 3

// numerals takes number words beside bags and kilos for their numbers.
func (t *tape) numerals() {
	beside := func(key string) bool { return key == bagsKey || key == weightKey }
	for i := 0; i < len(t.elements); i++ {
		for n := mostNumeral; n > 0; n-- {
			words := t.elements[i:min(i+n, len(t.elements))]
			value := t.reader.words().numerals[t.fold(phrase(words))]
			if value == "" || n == 1 && words[0].key != "" || !beside(t.at(i+len(words)).key) && !beside(t.at(i-1).key) {
				continue
			}
			t.elements = slices.Replace(t.elements, i, i+len(words), element{sort: number, typed: value, at: words[0].at})
			break
		}
	}
}

// phrase is what was typed of elements that are all words; "" where one is not.
func phrase(words []element) string {
	var typed []string
	for _, e := range words {
		if !e.isWord() {
			return ""
		}
		typed = append(typed, e.typed)
	}
	return strings.Join(typed, " ")
}

// thousands joins "1 200" beside kilos, for people who part thousands so.
func (t *tape) thousands() {
	for i := 0; i+1 < len(t.elements); i++ {
		a, b := t.elements[i], t.elements[i+1]
		if a.isNumber() && b.isNumber() && wholeRun(a.typed) && len(a.typed) <= 3 && wholeRun(b.typed) && len(b.typed) == 3 &&
			!strings.HasPrefix(a.typed, "0") && (t.at(i-1).key == weightKey || t.at(i+2).key == weightKey) {
			t.elements[i].typed += b.typed
			t.elements = slices.Delete(t.elements, i+1, i+2)
		}
	}
}

// shares takes the 100 of "3 out of 100 are red" as how many were counted.
func (t *tape) shares() {
	for i := 1; i < len(t.elements); i++ {
		key, whole := t.elements[i].key, i+1
		for100 := key == growerKey && !t.elements[i].short && len(t.at(whole).typed) > 2 // no grower has a number over 99
		if key != shareKey && key != vagueKey && !for100 {
			continue
		}
		for t.at(whole).key == fillerKey || t.at(whole).key == grading.Counted.String() && !t.at(whole).short {
			whole++
		}
		end := whole + 1
		if after := t.at(end); after.key == grading.Counted.String() && !t.at(end+1).isNumber() {
			end++
		}
		if !panful(t.at(whole)) || !t.ofGrains(i, end) {
			continue
		}
		n := t.elements[whole]
		t.elements = slices.Delete(t.elements, i, end)
		line := i
		for line < len(t.elements) && !t.elements[line].isBreak() {
			line++
		}
		t.elements = slices.Insert(t.elements, line, element{sort: letters, key: grading.Counted.String(), typed: "counted"}, n)
	}
}

// panful reports whether a number can be how many grains were counted: pans hold
// hundreds, or fifties.
func panful(e element) bool {
	return e.isNumber() && wholeRun(e.typed) && len(e.typed) >= 2 && len(e.typed) <= 4 && atoi(e.typed)%50 == 0 && atoi(e.typed) > 0
}

// ofGrains reports whether "out of" stands in a count of grains: a number is before it,
// and the nearest word that takes numbers is a count.
func (t *tape) ofGrains(i, end int) bool {
	numbered := false
	for j := i - 1; j >= 0 && !t.at(j).isBreak(); j-- {
		e := t.at(j)
		numbered = numbered || e.isNumber()
		if takesNumber(e.key) {
			f, ok := grading.ParseField(e.key)
			return ok && f.Kind() == grading.CountField && (numbered || t.at(j-1).isNumber())
		}
	}
	f, ok := grading.ParseField(t.at(t.skip(end)).key)
	return numbered && ok && f.Kind() == grading.CountField
}

// lacks notes that a tool is missing, and what cannot be measured without it.
func (p *parser) lacks(tool string) {
	if takesNumber(p.open) && len(p.runs) == 0 {
		p.open = "" // "moisture: no meter"
	}
	p.close()
	p.i++
	for _, f := range toolFields[tool] {
		if !p.lot().unable(f) {
			p.lot().Unable = append(p.lot().Unable, f)
		}
	}
}

// dirt asks whether a weight of dirt is of chaff or of stones.
func (p *parser) dirt(e element) {
	p.close()
	p.i++
	typed := e.typed
	if next := p.at(p.skip(p.i)); next.isNumber() {
		typed += " " + next.typed
		p.i = p.skip(p.i) + 1
	}
	p.trouble(Problem{Trouble: WhichDirt, Key: dirtKey, Typed: typed})
}

// vague takes a word that means no exact number: "13 to 14", "between 13 and 14". It
// asks, and takes none of the numbers.
func (p *parser) vague(e element) {
	next := p.at(p.i + 1)
	if len(p.runs) == 0 && !p.at(p.skip(p.i+2)).isNumber() {
		p.i++ // "humidité à 14"
		return
	}
	if p.vagueBags(e) {
		return
	}
	if p.open == "" || !next.isNumber() || p.open == bagsKey || p.open == weightKey {
		p.i++
		return
	}
	typed := strings.Join(append(slices.Clone(p.runs), e.typed, next.typed), " ")
	p.i += 2
	if len(p.runs) == 0 { // "between 13 and 14"
		if i := p.skip(p.i); p.at(i).isNumber() {
			typed += " " + p.at(i).typed
			p.i = i + 1
		}
	}
	p.unclear(p.open, typed)
	p.open, p.runs = "", nil
}

// vagueBags asks about "8 or 9 bags" and "magunia 8 au 9": the second number is no
// weight of a bag.
func (p *parser) vagueBags(e element) bool {
	next, word := p.at(p.i+1), p.skip(p.i+2)
	if len(p.runs) != 1 || !next.isNumber() || !wholeRun(next.typed) || len(next.typed) > 2 || atoi(next.typed) >= int(minBagKG/grading.One) {
		return false
	}
	switch {
	case p.open == bagsKey && p.at(word).key != weightKey:
		p.i += 2
	case p.open == "" && p.at(word).key == bagsKey:
		p.i = word + 1
	default:
		return false
	}
	p.unclear(bagsKey, p.runs[0]+" "+e.typed+" "+next.typed)
	p.open, p.runs = "", nil
	return true
}

// weighsOne reports whether the words behind "bags" say what one bag weighs: a number
// with its unit, before anything else.
func (t *tape) weighsOne(i int) bool {
	i = t.skip(i)
	return t.at(i).key == weightKey && t.at(i+1).isNumber()
}

// half takes "half", of a bag or of grams. It asks, and drops the number that it
// belongs to.
func (p *parser) half(typed string) {
	p.i++
	key := p.open
	if key == "" && p.last == bagsKey { // "5 bags and a half"
		key = bagsKey
		p.lot().Bags, p.lot().BagKG = 0, 0
	}
	if i := p.skip(p.i); key == "" && takesNumber(p.at(i).key) && !p.at(i+1).isNumber() {
		key, p.i = p.at(i).key, i+1
	}
	p.unclear(key, typed)
	p.open, p.runs, p.swamp = "", nil, true
}

func (s *slate) unclear(key, typed string) {
	s.trouble(Problem{Trouble: Vague, Key: key, Typed: typed})
}

// fraction takes "1/2" and the like: no hand tool shows such a number.
func (p *parser) fraction() bool {
	e, next := p.at(p.i), p.at(p.i+1)
	if !next.isNumber() || e.typed != "1" && e.typed != "3" || next.typed != "2" && next.typed != "4" || next.at != e.at+2 || []rune(p.text)[e.at+1] != '/' {
		return false
	}
	p.i++
	p.half(e.typed + "/" + next.typed)
	return true
}
