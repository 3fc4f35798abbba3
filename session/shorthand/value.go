package shorthand

import (
	"strings"

	"threshline/grading"
)

// maxRepeats is how many moisture readings one message may hold.
const maxRepeats = 9

// number takes a number: it belongs to the open word, to the word behind it,
// or to nothing.
func (p *parser) number() {
	e := p.at(p.i)
	switch {
	case p.open == handKey && len(p.runs)%(grading.HandCounts/2) > 0: // one of four that come together
		p.runs = append(p.runs, e.typed)
		p.i++
	case p.fraction():
	case p.bagsPattern():
	case p.open == handKey && len(p.runs) == grading.HandCounts && p.at(p.i+1).isNumber(): // too many, and none of them is an "O"
		p.runs = append(p.runs, e.typed)
		p.i++
	case p.swamp:
		p.i++
	case p.beforeWord(), p.signBeforeBags():
		p.close()
		word := p.skip(p.i + 1)
		if p.at(word).key == gramsKey {
			word = p.skip(word + 1)
		}
		p.open, p.runs, p.said, p.letter = p.at(word).key, []string{e.typed}, p.at(word).typed, false
		p.i = word + 1
		p.close()
	case p.behind, p.open != "" && len(p.runs) < room(p.open) && !p.zeroForOh():
		p.runs = append(p.runs, e.typed)
		p.i++
	case p.open != "" && p.joins(e):
		p.runs[0] += "." + e.typed
		p.i++
	default:
		p.loose(e)
	}
}

// room is how many numbers a word takes.
func room(key string) int {
	switch key {
	case grading.Moisture.String():
		return maxRepeats
	case bagsKey:
		return 2
	case handKey:
		return grading.HandCounts
	}
	return 1
}

// joins reports whether a number is the decimals of the one before, with a space as the
// mark: "B 15 6", "O 0 24".
func (p *parser) joins(e element) bool {
	f, ok := grading.ParseField(p.open)
	return ok && f.Kind() == grading.WeightField && len(p.runs) == 1 && wholeRun(p.runs[0]) &&
		wholeRun(e.typed) && len(e.typed) <= 2 && !p.nextGrower() && (e.typed != "0" || !p.at(p.i+1).isNumber())
}

// nextGrower reports whether the number here is the bare short number of the next
// grower: the reading behind it was given for this grower already.
func (p *parser) nextGrower() bool {
	return p.shortNumber(p.i) && p.lot().Grower.Short > 0 && p.repeats(p.at(p.i+1).key)
}

// zeroForOh reports whether the bare zero here is a mistyped letter O: another number
// follows it, and the open word has its number.
func (p *parser) zeroForOh() bool {
	return p.at(p.i).typed == "0" && len(p.runs) > 0 && p.at(p.i+1).isNumber() && p.open == grading.Moisture.String()
}

// signBeforeBags reports whether the number is of the bags behind it, and the word before
// it says what was seen: "wet 8 bags" is no moisture of 8 %, "weevils 8 bags" are not 8.
func (p *parser) signBeforeBags() bool {
	says := p.open == grading.Moisture.String() && !p.letter || isLive(p.open)
	word := p.skip(p.i + 1)
	return says && len(p.runs) == 0 && p.at(word).key == bagsKey && !p.at(p.skip(word+1)).isNumber()
}

// beforeWord reports whether the number belongs to the trade word behind it, in a
// message whose words otherwise come before their numbers: "600 kg", "2 red 1 yellow".
// The last word of such a row must have no number behind it, and the word before must
// not need this number.
func (p *parser) beforeWord() bool {
	if p.behind || p.open != "" && len(p.runs) == 0 {
		return false
	}
	i := p.i
	for p.at(i).isNumber() {
		word := p.skip(i + 1)
		if p.at(word).key == gramsKey {
			word = p.skip(word + 1)
		}
		if !p.countable(p.at(word), p.at(i)) {
			return false
		}
		i = p.skip(word + 1)
		if p.at(word).key == weightKey {
			if p.at(word).glued && p.open != bagsKey {
				return true // "1200kg 16 bags"
			}
			if next := p.skip(word + 1); p.at(next).isNumber() && p.percent(p.at(next)) {
				return true // "600 kg at 18%"
			}
			if next := p.skip(word + 1); p.at(next).isNumber() && p.at(p.skip(next+1)).key == bagsKey {
				return true // "420 kg in 7 bags"
			}
			break
		}
	}
	return !p.at(i).isNumber() && p.at(i).key != zeroKey
}

// countable reports whether a word can stand behind its number: kilos, bags, and
// what is counted.
func (p *parser) countable(word, number element) bool {
	if !word.isWord() {
		return false
	}
	if word.key == weightKey {
		return p.open != bagsKey
	}
	f, ok := grading.ParseField(word.key)
	if ok && number.typed == "0" && f.Kind() == grading.WeightField && !word.short {
		return true // "0 stones"
	}
	if ok && number.grams && f.Kind() == grading.WeightField && !word.short {
		return true // "3g chaff"
	}
	return (word.key == bagsKey || ok && f.Kind() == grading.CountField) && !word.short && wholeRun(number.typed)
}

// bagsPattern takes "8x75", "8 bags of 75 kg" and "8 bags 75 kg".
func (p *parser) bagsPattern() bool {
	j, linked := p.i+1, true
	switch {
	case p.at(j).sort == times:
		j++
		if f, ok := grading.ParseField(p.open); ok && len(p.runs) == 0 && !p.weighsABag(j) { // "M 14 x3"
			p.unclear(f.String(), p.at(p.i).typed+" x "+p.at(j).typed)
			p.open, p.i = "", j+1
			return true
		}
	case p.at(j).key == bagsKey && (p.open == "" || len(p.runs) > 0 || p.behind || p.open == bagsKey):
		word := j + 1
		if j = p.skip(word); p.at(j).sort == times || p.at(j).key == unableKey && strings.EqualFold(p.at(j).typed, "x") && p.at(j+1).isNumber() {
			j++
		}
		linked = j > word
		weight := p.at(j).key == weightKey // "8 magunia ya kilo 75"
		if weight && !isKilos(p.at(j).typed) {
			return false // "10 sacks weight 80": of one or of all
		}
		if weight {
			j = p.skip(j + 1)
		}
		if !weight && p.at(j+1).key != weightKey && !(linked && p.weighsABag(j)) {
			return false
		}
	default:
		return false
	}
	if !p.at(j).isNumber() {
		return false
	}
	if p.open != bagsKey || len(p.runs) > 0 {
		if !p.behind {
			p.close()
		}
	}
	kept := p.runs
	bags, kg := p.at(p.i).typed, p.at(j).typed
	if wholeRun(bags) && wholeRun(kg) && len(bags) < 4 && len(kg) < 3 && atoi(kg) < int(minBagKG/grading.One) && atoi(bags) >= int(minBagKG/grading.One) {
		bags, kg = kg, bags // "sacks of 75 x 8"
	}
	p.open, p.runs = bagsKey, []string{bags, kg}
	p.i = j + 1
	if p.at(p.i).key == weightKey && !p.at(p.i+1).isNumber() {
		p.i++
	}
	p.last = bagsKey
	if r := readRun(kg, true); !linked && len(r.values) == 1 && r.values[0] > maxBagKG {
		p.runs = p.runs[:1] // "16 bags 1200 kg": all of them
		p.bagged()
		p.weigh(kg)
	} else {
		p.each()
	}
	p.open, p.runs = "", nil
	if p.behind {
		p.runs = kept
	}
	return true
}

// isKilos reports whether a word of weight is a unit, such as "kilo", and not "weight".
func isKilos(word string) bool { return strings.HasPrefix(strings.ToLower(word), "k") }

// weighsABag reports whether the number at j, joined to the bags by "of" and the like,
// is what one bag weighs, and not a reading whose word follows it.
func (t *tape) weighsABag(j int) bool {
	r := readRun(t.at(j).typed, true)
	own := takesNumber(t.at(j+1).key) && !t.at(j+2).isNumber()
	return t.at(j).isNumber() && len(r.values) == 1 && r.values[0] >= minBagKG && r.values[0] <= maxBagKG && !own
}

// loose takes a number that stands behind no word.
func (p *parser) loose(e element) {
	switch {
	case p.open != grading.Moisture.String() && p.percent(e):
		p.close()
		p.open, p.said, p.letter = grading.Moisture.String(), "%", true
		return
	case e.typed == "0" && p.at(p.i+1).isNumber() && !p.lot().Readings.Has(grading.Chaff):
		p.close()
		p.open = grading.Chaff.String()
		p.i++
		return
	case p.shortNumber(p.i) && p.lot().Grower == Grower{} && p.lot().Fields() == 0 && p.open == "":
		p.lot().Grower.Short = atoi(e.typed)
		p.i++
		return
	case p.nextGrower():
		p.newLot()
		p.lot().Grower.Short = atoi(e.typed)
		p.i++
		return
	case p.open == "" && p.bareMoisture():
		p.open = grading.Moisture.String()
		return
	}
	p.trouble(Problem{Trouble: LooseNumber, Typed: e.typed})
	p.i++
}

// percent reports whether a number has a percent sign behind it: of paddy that is
// the moisture.
func (t *tape) percent(e element) bool {
	behind := []rune(t.text)[min(e.at+len([]rune(e.typed)), len([]rune(t.text))):]
	return strings.HasPrefix(strings.TrimLeft(string(behind), " "), "%")
}

func atoi(s string) (n int) {
	for _, b := range []byte(s) {
		n = n*10 + int(b-'0')
	}
	return n
}

func (p *parser) repeats(key string) bool {
	if key == handKey && p.hand.begun {
		return true
	}
	f, ok := grading.ParseField(key)
	open := p.open
	return ok && (p.lot().Readings.Has(f) || open == key)
}

// Bare numbers at the start of a lot are taken as moisture if there are at least two
// and a meter can show all of them. Source: assumed.
const (
	bareLow  = 8 * grading.One
	bareHigh = 40 * grading.One
)

func (s *slate) bareMoisture() bool {
	if s.lot().Fields() > 0 {
		return false
	}
	n, decimals := 0, false
	for i := s.i; s.at(i).isNumber(); i++ {
		r := readRun(s.at(i).typed, false)
		if r.unclear {
			return false
		}
		for _, d := range r.values {
			if d < bareLow || d > bareHigh {
				return false
			}
			n++
			decimals = decimals || d%grading.One != 0
		}
	}
	return n >= 2 && decimals && !strings.HasPrefix(s.at(s.i).typed, "-")
}
