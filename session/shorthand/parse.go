package shorthand

import (
	"slices"
	"strings"
	"sync"

	"threshline/grading"
	"threshline/session/wording"
)

// The most that one message may hold: ten segments of text, twenty lots. A
// gateway joins long messages before it reads them. Source: assumed.
const (
	maxRunes = 1530
	maxLots  = 20
)

// Reader reads messages in the language of the person who sent them; it understands
// trade words of the other languages too. It may be shared between goroutines.
type Reader struct {
	cat   *wording.Catalogue
	lang  string
	words func() *lexicon
}

// NewReader makes a reader for a language. It costs nothing: the lists are read for
// the first message of all, and stay with the catalogue.
func NewReader(cat *wording.Catalogue, lang string) *Reader {
	return &Reader{cat, lang, sync.OnceValue(func() *lexicon {
		return cat.Once("shorthand "+lang, func() any { return newLexicon(cat, lang) }).(*lexicon)
	})}
}

// Parse reads one message. The problems are in the order of the text. What they do not
// touch stands in the Message.
func (r *Reader) Parse(text string) (Message, []Problem) { return r.read("", text) }

// Answer reads the answer to a step. A number behind no word belongs to the list that
// the step asks for, such as "moisture".
func (r *Reader) Answer(key, text string) (Message, []Problem) { return r.read(key, text) }

func (r *Reader) read(asked, text string) (Message, []Problem) {
	p := parser{slate: slate{tape: tape{reader: r}, lots: []Lot{{}}}}
	text, rest := fitting(text)
	if text == "" && rest != "" {
		return Message{}, []Problem{{Trouble: TooLong}}
	}
	p.text, p.elements = text, r.words().elements(text)
	p.arrange()
	p.settleGuesses()
	if asked != "" && !slices.ContainsFunc(p.elements, func(e element) bool { return takesNumber(e.key) }) {
		p.open, p.known = asked, true
	}
	for p.i < len(p.elements) {
		p.step()
	}
	p.endLot()
	if p.lots[len(p.lots)-1].Empty() {
		p.lots = p.lots[:len(p.lots)-1]
	}
	if rest != "" && p.unread == "" {
		p.unread = rest
	}
	if p.unread != "" {
		p.problems = append(p.problems, Problem{Lot: len(p.lots), Trouble: TooLong, Typed: p.unread})
	}
	return Message{p.lots}, p.problems
}

// fitting returns the part of a text that is read, in whole lines, and the rest.
func fitting(text string) (part, rest string) {
	runes := []rune(text)
	if len(runes) <= maxRunes {
		return text, ""
	}
	part = string(runes[:maxRunes+1])
	end := strings.LastIndexAny(part, "\n;")
	if end < 0 {
		return "", text
	}
	return text[:end], strings.Trim(text[end:], "\n; ")
}

// Looks reports whether a text is meant as a whole check, and not as the answer to a
// question: it has two words with their numbers, or one and the grower or the slip.
func (r *Reader) Looks(text string) bool {
	text, _ = fitting(text)
	elements, values, names := r.words().elements(text), 0, 0
	for i, e := range elements {
		behind := i+1 < len(elements) && elements[i+1].isNumber()
		before := i > 0 && elements[i-1].isNumber()
		switch {
		case e.key == handKey && behind:
			values += 2 // one word for all its counts
		case takesNumber(e.key) && (behind || before && !e.short):
			values++
		case e.key == growerKey && i+1 < len(elements), e.key == slipKey && len(e.typed) == slipLength:
			names++
		}
	}
	return values > 0 && values+names >= 2
}

// tape is a message as elements, and how far it was read.
type tape struct {
	reader   *Reader
	text     string
	elements []element
	i        int
}

// slate is what a message was understood to say of its lots, and what is wrong with it.
type slate struct {
	tape
	lots     []Lot
	problems []Problem
	unread   string // what stands behind the most lots
	hand     hand   // the check by hand of the last lot
}

// parser walks over the elements and fills the lots.
type parser struct {
	slate

	open    string                   // the word whose numbers are being collected; "" none
	runs    []string                 // those numbers, as typed
	swamp   bool                     // numbers behind an unknown word: they are dropped with it
	behind  bool                     // in this lot the words stand behind their numbers
	known   bool                     // behind has been settled for this lot
	letter  bool                     // the open word is a letter or two
	last    string                   // the list whose numbers were taken last
	weighed string                   // the word by which the lot's kilos were said
	said    string                   // the open word as typed
	words   map[grading.Field]string // by which word each reading of this lot was said
	alive   []string                 // live insects that were named without a number in this lot
}

func (s *slate) lot() *Lot { return &s.lots[len(s.lots)-1] }

func (t *tape) at(i int) element {
	if i < 0 || i >= len(t.elements) {
		return element{sort: lineBreak}
	}
	return t.elements[i]
}

// skip finds the next element from i that is no filler.
func (t *tape) skip(i int) int {
	for t.at(i).key == fillerKey || t.at(i).key == shareKey {
		i++
	}
	return i
}

// takesNumber reports whether a word is followed by a number of its own.
func takesNumber(key string) bool {
	switch key {
	case bagsKey, weightKey, handKey, biteKey, saltKey:
		return true
	}
	_, isField := grading.ParseField(key)
	return isField
}

// settleGuesses recognises mistyped trade words in front of a number.
func (t *tape) settleGuesses() {
	for i := range t.elements {
		e := &t.elements[i]
		if !e.isWord() || e.key != "" || !t.at(i+1).isNumber() || t.at(i-1).key == growerKey {
			continue
		}
		if key, ok := t.reader.words().guess(e.typed); ok && takesNumber(key) {
			e.key = key
		}
	}
}

func (p *parser) step() {
	if !p.known {
		p.behind, p.known = p.wordsBehind(), true
	}
	e := p.at(p.i)
	switch {
	case e.sort == lineBreak:
		if p.lineBegins() {
			p.newLot()
		}
		p.i++
	case e.sort == times, e.key == fillerKey, e.key == shareKey, e.key == gramsKey:
		p.i++
	case e.isNumber():
		p.number()
	case e.key == "":
		p.unknown()
	default:
		p.word(e)
	}
}

// newLot begins the next lot unless nothing was said of the present one.
func (p *parser) newLot() {
	p.endLot()
	if p.lot().Empty() {
		return
	}
	if len(p.lots) == maxLots {
		p.unread = strings.Trim(string([]rune(p.text)[p.at(p.i).at:]), "\n; ")
		p.i = len(p.elements)
		return
	}
	p.lots = append(p.lots, Lot{})
}

// lineBegins reports whether a new line or a semicolon begins another lot: what follows
// names a grower although there is one already, or repeats what was said. Three lines
// of moisture are one lot.
func (p *parser) lineBegins() bool {
	p.close()
	first := p.at(p.i + 1)
	for i := p.i + 1; !p.at(i).isBreak(); i++ {
		e := p.at(i)
		if e.key == growerKey && p.lot().Grower != (Grower{}) {
			return true
		}
		if e.key == handKey && p.hand.begun {
			return true
		}
		f, isField := grading.ParseField(e.key)
		if isField && f != grading.Moisture && p.lot().Readings.Has(f) || e.key == bagsKey && p.lot().Bags > 0 {
			return true
		}
	}
	return p.lot().Grower != (Grower{}) && p.shortNumber(p.i+1) && first.isNumber()
}

// shortNumber reports whether a grower's short number stands alone at i: whole, 1 to
// 99, and before a word that has numbers of its own.
func (t *tape) shortNumber(i int) bool {
	run := t.at(i).typed
	if !t.at(i).isNumber() || !wholeRun(run) || len(run) > 2 || strings.Trim(run, "0") == "" {
		return false
	}
	return takesNumber(t.at(i+1).key) && t.at(i+2).isNumber()
}

// wordsBehind reports whether the words of the lot follow their numbers, as in "13.8
// moisture 20 sample": it begins with a number and ends with a word, and all its words
// are trade words, not letters.
func (t *tape) wordsBehind() bool {
	i := t.skip(t.i)
	if t.at(i).key == growerKey {
		for i++; t.at(i).isWord() && t.at(i).key == ""; i++ {
		}
		if t.at(i).isNumber() && t.at(i+1).isNumber() {
			i++
		}
	}
	if !t.at(i).isNumber() || t.shortNumber(i) {
		return false
	}
	last := element{}
	for ; i < len(t.elements); i++ {
		e := t.at(i)
		if takesNumber(e.key) && e.short {
			return false
		}
		if e.isNumber() || takesNumber(e.key) {
			last = e
		}
	}
	return takesNumber(last.key)
}
