package talk

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// echo is what came in and what was made of it, to tell machines from people.
type echo struct {
	*Notebook
	text string
	// stranger says that we do not know the person; understood that a screen took
	// the text; answered that it was a word that works on every screen.
	stranger, understood, answered bool
}

// loops reports whether an answer would keep two machines talking: our own text
// comes back, alone or inside another, or a third message in a row would get
// the same reply to the same text, or to a text that we do not understand.
func (e *echo) loops(reply string) bool {
	r := e.Dialogue.Recent
	if e.holdsTold() || e.countsUp() {
		return true
	}
	in, out := fingerprint(e.text), fingerprint(reply)
	for i := 1; i < len(r); i += 2 {
		if r[i] == in && len(e.text) > 3 {
			return true
		}
	}
	n := len(r)
	if n < 4 {
		return e.strayAgain()
	}
	same := r[n-2] == in && r[n-4] == in && (r[n-1] == out || r[n-1] == silent)
	return same || e.strayAgain()
}

// countsUp recognises a machine that always sends the same text, or numbers its
// texts: the third in a row that differs only in its digits, has a word in it,
// and that no screen takes. From a stranger, texts that the greeting takes
// count too, since the greeting takes anything.
func (e *echo) countsUp() bool {
	letters := longWord
	if e.stranger {
		letters = shortWord
	}
	m, mark, times := e.Memo(), fingerprint(shape(e.text)), 1
	if m.Shapes > 0 && m.Shape == mark {
		times += m.Shapes
	}
	m.Shape, m.Shapes = 0, 0
	if e.understood && !e.stranger || !hasWord(e.text, letters) {
		return false
	}
	m.Shape, m.Shapes = mark, min(times, mostShapes)
	return times >= mostShapes
}

// Letters in a row that make a word. An answer in figures has no word, and the
// letter of a reading is none. Source: assumed.
const (
	longWord  = 4
	shortWord = 2
)

// So many texts of one shape in a row come from a machine.
const mostShapes = 3

// shape is a text with its numbers left out.
func shape(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return unicode.IsDigit(r) || unicode.IsSpace(r) }), " ")
}

// hasWord reports whether a text has so many letters in a row.
func hasWord(text string, letters int) bool {
	run := 0
	for _, r := range text {
		run++
		if !unicode.IsLetter(r) {
			run = 0
		}
		if run == letters {
			return true
		}
	}
	return false
}

// toldRunes is how many letters of a reply's beginning we look for in what
// comes in: enough that nobody types them by chance. Source: assumed.
const toldRunes = 24

// mostTold is how many replies are kept so.
const mostTold = 3

// rememberTold keeps a fingerprint of how a reply begins.
func (e *echo) rememberTold(reply string) {
	begin := []rune(squeezed(reply))
	if len(begin) < toldRunes {
		return
	}
	told := append(e.Dialogue.Told, fingerprint(string(begin[:toldRunes])))
	e.Dialogue.Told = told[max(0, len(told)-mostTold):]
}

// holdsTold reports whether a text holds the beginning of what we said lately,
// as a text that is passed on or quoted does.
func (e *echo) holdsTold() bool {
	told := e.Dialogue.Told
	text := []rune(squeezed(e.text))
	if len(told) == 0 {
		return false
	}
	for i := 0; i+toldRunes <= len(text); i++ {
		if slices.Contains(told, fingerprint(string(text[i:i+toldRunes]))) {
			return true
		}
	}
	return false
}

// silent is the fingerprint when there was no reply.
var silent = fingerprint("")

// strayAgain counts long texts in a row that no screen took, as automatic
// replies are; the third is not answered.
func (e *echo) strayAgain() bool {
	words := len(strings.Fields(e.text))
	if e.understood || e.answered || words < 4 {
		if e.understood {
			e.Memo().Strays = 0
		}
		return false
	}
	e.Memo().Strays++
	return e.Memo().Strays >= 3
}

// fingerprint is a hash of what a text says, whatever its case and spacing: the
// FNV-1a hash of its squeezed form, which is never made, since every turn asks.
func fingerprint(text string) uint64 {
	const offset, prime = 14695981039346656037, 1099511628211
	h := uint64(offset)
	begun, gap := false, false
	var letter [utf8.UTFMax]byte
	for _, r := range text {
		if unicode.IsSpace(r) {
			gap = begun
			continue
		}
		if gap {
			h = (h ^ ' ') * prime
		}
		begun, gap = true, false
		for _, b := range letter[:utf8.EncodeRune(letter[:], unicode.ToLower(r))] {
			h = (h ^ uint64(b)) * prime
		}
	}
	return h
}

// squeezed is a text in small letters with single spaces.
func squeezed(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), " ")) }
