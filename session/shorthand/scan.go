package shorthand

import (
	"strings"
	"unicode"

	"threshline/session/wording"
)

// sort says what a token is.
type sort uint8

const (
	number sort = iota
	letters
	times     // the x of 8x75
	plus      // the + of 0.2+0.6
	lineBreak // a new line or a semicolon: may begin a new lot
)

// token is a number or a run of letters as typed.
type token struct {
	sort  sort
	typed string
	// glued says that nothing stands between it and the token before.
	glued bool
	at    int // where it begins, in runes
}

// scan cuts a message into tokens. Digits of other scripts become plain ones,
// signs that say nothing are dropped.
func scan(text string) []token {
	s := scanner{runes: []rune(plainDigits(text))}
	for s.next() {
	}
	return s.out
}

type scanner struct {
	runes []rune
	i     int
	out   []token
	end   int // where the last token ended
}

func (s *scanner) peek(ahead int) rune {
	if s.i+ahead < 0 || s.i+ahead >= len(s.runes) {
		return 0
	}
	return s.runes[s.i+ahead]
}

func (s *scanner) add(kind sort, length int) {
	typed := string(s.runes[s.i : s.i+length])
	s.out = append(s.out, token{kind, typed, s.end == s.i && len(s.out) > 0, s.i})
	s.i += length
	s.end = s.i
}

func (s *scanner) next() bool {
	r := s.peek(0)
	switch {
	case s.i >= len(s.runes):
		return false
	case digit(r), mark(r) && !digit(s.peek(-1)) && (digit(s.peek(1)) || oh(s.peek(-1)) && oh(s.peek(1)) && digit(s.peek(2))):
		s.add(number, s.numberLength())
	case r == '-' && (digit(s.peek(1)) || mark(s.peek(1)) && digit(s.peek(2))) && !alphanumeric(s.peek(-1)):
		s.i++
		n := s.numberLength()
		s.i--
		s.add(number, n+1)
	case (r == 'x' || r == 'X' || r == '*' || r == '×' || r == '@') && s.between(), r == '@' && digitNext(s):
		s.add(times, 1)
	case r == '+' && (s.between() || s.grams()):
		s.add(plus, 1)
	case unicode.IsLetter(r):
		s.add(letters, s.wordLength())
	case r == '\n', r == ';':
		s.add(lineBreak, 1)
	default:
		s.i++
	}
	return true
}

// between reports whether the sign here stands between two numbers.
func (s *scanner) between() bool {
	if len(s.out) == 0 || s.out[len(s.out)-1].sort != number || strings.TrimSpace(string(s.runes[s.end:s.i])) != "" {
		return false
	}
	return digitNext(s)
}

// digitNext reports whether a number follows the sign here, perhaps after blanks.
func digitNext(s *scanner) bool {
	j := 1
	for s.peek(j) == ' ' {
		j++
	}
	return digit(s.peek(j))
}

// grams reports whether the sign here stands between two numbers, and the first has its
// unit attached: 0.2g+0.6g.
func (s *scanner) grams() bool {
	last := len(s.out) - 1
	if last < 1 || s.out[last].sort != letters || !s.out[last].glued || s.out[last-1].sort != number {
		return false
	}
	unit := strings.ToLower(s.out[last].typed)
	return (unit == "g" || unit == "gr") && s.end == s.i && digit(s.peek(1))
}

// numberLength is the length of digits with their marks. It includes the letter O where
// only a zero makes sense: 1O, 1OO, 2O.5, but not 20o0.24.
func (s *scanner) numberLength() int {
	n := 0
	for {
		r := s.peek(n)
		switch {
		case digit(r), mark(r) && (digit(s.peek(n+1)) || oh(s.peek(n+1)) && (digit(s.peek(n+2)) || n > 0 && s.zeros(n+1))):
			n++
		case oh(r) && n > 0 && s.zeros(n), oh(r) && mark(s.peek(n-1)):
			n++
		default:
			return n
		}
	}
}

// zeros reports whether only letters O and zeros follow from here to the end of the
// number or a decimal mark.
func (s *scanner) zeros(n int) bool {
	for ; oh(s.peek(n)) || s.peek(n) == '0'; n++ {
	}
	r := s.peek(n)
	if mark(r) && digit(s.peek(n+1)) {
		return s.peek(n-1) != '0'
	}
	return !digit(r) && (!unicode.IsLetter(r) || r == 'x' || r == 'X')
}

func (s *scanner) wordLength() int {
	n := 0
	for {
		r := s.peek(n)
		joins := (r == '-' || apostrophe(r)) && unicode.IsLetter(s.peek(n+1)) && n > 0
		if !unicode.IsLetter(r) && !unicode.Is(unicode.Mn, r) && !joins && (!apostrophe(r) || n == 0) {
			return n
		}
		n++
	}
}

func digit(r rune) bool { return r >= '0' && r <= '9' }
func mark(r rune) bool  { return r == '.' || r == ',' }
func oh(r rune) bool    { return r == 'o' || r == 'O' }

func apostrophe(r rune) bool { return strings.ContainsRune("'’‘ʼ`´", r) }

func alphanumeric(r rune) bool { return digit(r) || unicode.IsLetter(r) }

// plainDigits writes digits, marks and dashes of other scripts as plain ones. Letters
// stay as typed, because of names.
func plainDigits(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r < 0x80 || unicode.IsLetter(r):
			return r
		case r == '−' || r == '–' || r == '—':
			return '-'
		case r == '×':
			return 'x'
		}
		if plain := []rune(wording.Fold(wording.English, string(r))); len(plain) == 1 {
			return plain[0]
		}
		return r
	}, s)
}
