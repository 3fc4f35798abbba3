package shorthand

import (
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
)

// word takes a known word.
func (p *parser) word(e element) {
	switch e.key {
	case growerKey:
		p.grower()
	case slipKey:
		p.slip(e)
	case zeroKey:
		p.zero()
	case withoutKey:
		p.close() // "mouldy without S 20": the mould stays
		p.zero()
	case lookedKey:
		p.close()
		p.i++
		if !strings.ContainsAny(p.text, "?؟") { // who asks whether all is good has not said so
			p.lot().Readings.Looked = grading.WasLooked
		}
	case deniedKey:
		p.close()
		p.i++
	case unableKey:
		p.unable()
	case ohKey:
		p.i++
		p.runs = append(p.runs, "0"+p.at(p.i).typed)
		p.i++
	case pointKey:
		p.i++
	case dirtKey:
		p.dirt(e)
	case vagueKey:
		p.vague(e)
	case halfKey:
		p.half(e.typed)
	case "meter":
		p.close()
		if p.i++; p.at(p.skip(p.i)).isNumber() { // "the meter says 14.1"
			p.open, p.letter, p.said = grading.Moisture.String(), false, e.typed
		}
	case "scale", "sieve":
		p.i++
	default:
		if tool, ok := strings.CutPrefix(e.key, lacksTool); ok {
			p.lacks(tool)
			return
		}
		if takesNumber(e.key) {
			p.value(e)
			return
		}
		p.flag(grading.Flag(e.key))
	}
}

// value takes a word that has numbers: behind it, or before it.
func (p *parser) value(e element) {
	if p.behind && p.open == "" && len(p.runs) > 0 {
		p.open, p.said, p.letter = e.key, e.typed, e.short
		p.i++
		p.close()
		return
	}
	if e.key == grading.Chaff.String() && e.short && p.ohForZero(e) {
		return
	}
	if e.key == weightKey && p.open == weightKey && len(p.runs) > 0 && !p.at(p.i+1).isNumber() {
		p.i++ // the unit of "weight 600 kg"
		return
	}
	if e.key == bagsKey && p.open == "" && p.lot().Bags > 0 && !p.at(p.i+1).isNumber() {
		p.i++ // "14 bags, 65 kilos per bag"
		return
	}
	again := p.open == weightKey && len(p.runs) == 0 || p.open == "" && p.lot().KG > 0 && !p.at(p.i+1).isNumber()
	if e.key == weightKey && (again || p.kgOfNoBags()) {
		p.i++ // the unit of "weight kilo 600"
		return
	}
	if p.open == e.key && len(p.runs) == 0 && !p.letter {
		p.i++ // "chaff and straw 0.24"
		return
	}
	p.close()
	p.open, p.swamp, p.letter, p.said = e.key, false, e.short, e.typed
	p.i++
}

// kgOfNoBags takes "bags of 100 kg" and "magunia ya kilo 100". They say what one bag
// holds, and not how many there are, which is asked.
func (p *parser) kgOfNoBags() bool {
	if p.open != bagsKey {
		return false
	}
	after := p.at(p.i + 1)
	switch {
	case len(p.runs) == 1 && !after.isNumber() && len(p.runs[0]) >= 2 && p.at(p.i-1).isNumber():
	case len(p.runs) == 0 && after.isNumber() && wholeRun(after.typed) && len(after.typed) <= 3 && atoi(after.typed) <= int(maxBagKG/grading.One):
		p.i++
	default:
		return false
	}
	p.open, p.runs = "", nil
	p.trouble(Problem{Trouble: NoNumber, Key: bagsKey})
	return true
}

// ohForZero takes the letter O as the zero that the word before it waits for: "P O R
// 2", "I O.06". If a number of its own follows, it is the letter.
func (p *parser) ohForZero(e element) bool {
	if strings.EqualFold(e.typed, "o") && p.open == handKey && len(p.runs)%(grading.HandCounts/2) > 0 {
		p.runs = append(p.runs, "0")
		p.i++
		return true
	}
	if !strings.EqualFold(e.typed, "o") || p.open == "" || len(p.runs) > 0 {
		return false
	}
	next := p.at(p.i + 1)
	switch {
	case next.isNumber() && next.glued:
		p.runs = append(p.runs, "0"+next.typed)
		p.i += 2
	case next.isNumber():
		return false
	default:
		p.runs = append(p.runs, "0")
		p.i++
	}
	return true
}

// grower takes a short number, a name, or both. A word of the lists is part of a name
// if no number follows it.
func (p *parser) grower() {
	p.close()
	if p.lot().Grower != (Grower{}) {
		p.newLot()
	}
	p.i++
	if next := p.at(p.i); strings.HasPrefix(next.key, lacksTool) || next.key == deniedKey {
		return // "g pas de balance": the little word, not the letter
	}
	g := &p.lot().Grower
	for p.at(p.i).key == fillerKey {
		p.i++
	}
	if e := p.at(p.i); e.isNumber() {
		n, err := strconv.Atoi(e.typed)
		if err != nil || n < 1 || n > 99 {
			p.trouble(Problem{Trouble: Impossible, Key: growerKey, Typed: e.typed, Min: grading.One, Max: 99 * grading.One})
		} else {
			g.Short = n
		}
		p.i++
	}
	p.name()
	if *g == (Grower{}) && !p.hasProblem(growerKey) {
		p.trouble(Problem{Trouble: NoNumber, Key: growerKey})
	}
}

// name takes the words of a grower's name, if there are any here.
func (s *slate) name() {
	var words []string
	for ; s.at(s.i).isWord(); s.i++ {
		e, next := s.at(s.i), s.at(s.i+1)
		inName := e.key == "" && !next.isNumber() ||
			e.key == "" && len(words) == 0 && s.lot().Grower.Short == 0 ||
			e.key == fillerKey && len(words) > 0 && next.isWord() && next.key == "" ||
			takesNumber(e.key) && len(words) > 0 && next.isWord() && takesNumber(next.key)
		if !inName {
			break
		}
		words = append(words, e.typed)
	}
	if len(words) > 0 {
		s.lot().Grower.Name = strings.Join(words, " ")
	}
}

// minName is how many letters a name without its word must have.
const minName = 3

// unknown takes a word that is in no list. It is a grower's name if nothing else was
// said yet and another word follows; otherwise it is a problem.
func (p *parser) unknown() {
	p.close()
	e := p.at(p.i)
	l := p.lot()
	after := p.i
	for p.at(after).isWord() && p.at(after).key == "" {
		after++
	}
	if l.Grower.Name == "" && l.Fields() == 0 && len([]rune(e.typed)) >= minName && (takesNumber(p.at(after).key) || p.at(after).isNumber() && takesNumber(p.at(after+1).key) && p.at(after+1).key == bagsKey) {
		p.name()
		l.Grower.Bare = true
		return
	}
	p.trouble(Problem{Trouble: UnknownWord, Typed: e.typed})
	p.swamp = true
	p.i++
}

func (p *parser) slip(e element) {
	p.close()
	p.i++
	if len(e.typed) != slipLength {
		p.trouble(Problem{Trouble: NoNumber, Key: slipKey, Typed: e.typed})
		return
	}
	p.lot().Slip = e.typed
}

// zero takes "none": of the word before, or of the word behind it.
func (p *parser) zero() {
	p.i++
	if p.open == "" || len(p.runs) > 0 {
		next := p.at(p.skip(p.i))
		if next.key == dirtKey {
			p.close()
			p.lot().Readings.Set(grading.Chaff, 0)
			p.lot().Readings.Set(grading.Stones, 0)
			p.i = p.skip(p.i) + 1
			return
		}
		if next.isWord() && takesNumber(next.key) {
			p.close()
			p.open = next.key
			p.i = p.skip(p.i) + 1
		} else if isFlag(next.key) {
			p.close()
			p.i = p.skip(p.i) + 1
			return
		} else {
			return
		}
	}
	if f, ok := grading.ParseField(p.open); !ok || isWhole(f) {
		p.noTool()
		return
	}
	p.runs = append(p.runs, "0")
	p.close()
}

// unable takes "cannot": of the word before, or of the word behind it.
func (p *parser) unable() {
	p.i++
	if p.open == "" || len(p.runs) > 0 {
		next := p.at(p.skip(p.i))
		if !next.isWord() || !takesNumber(next.key) {
			return
		}
		p.close()
		p.open = next.key
		p.i = p.skip(p.i) + 1
	}
	p.noTool()
}

// noTool notes that the open word's field cannot be measured.
func (p *parser) noTool() {
	f, ok := grading.ParseField(p.open)
	if ok && !p.lot().unable(f) {
		p.lot().Unable = append(p.lot().Unable, f)
	}
	p.open, p.runs = "", nil
}

// isWhole reports whether none of a field cannot be meant as zero: shares are
// taken of it, or it is the moisture.
func isWhole(f grading.Field) bool {
	switch f {
	case grading.Moisture, grading.SampleWeight, grading.CleanWeight, grading.BrownWeight, grading.Counted:
		return true
	}
	return false
}

func isFlag(key string) bool {
	return slices.Contains(grading.Flags(), grading.Flag(key))
}

// deniesNext reports whether the "none" here belongs to the word behind it: "mouldy no
// insects" is mouldy, "musty none S 20" is not musty. Before an unknown word it denies
// nothing.
func (t *tape) deniesNext() bool {
	i := t.skip(t.i + 1)
	next := t.at(i)
	return next.isWord() && (next.key == "" || takesNumber(next.key) && !t.at(i+1).isNumber() && !next.short)
}

// flag takes something seen or smelt, unless it is denied: "smell none",
// "musty 0".
func (p *parser) flag(f grading.Flag) {
	p.close()
	p.i++
	switch next := p.at(p.i); {
	case next.key == zeroKey && !p.deniesNext(), next.isNumber() && strings.Trim(next.typed, "0oO") == "":
		p.i++
		return
	case next.isNumber() && next.typed == "1":
		p.i++
	}
	if slices.Contains(p.lot().Readings.Flags, f) {
		return
	}
	p.lot().Readings.Flags = append(p.lot().Readings.Flags, f)
}
