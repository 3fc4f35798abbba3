package gsm

// basic is the default alphabet: a letter's place is its septet. Place 0x1B is
// the escape to the extension table, no letter. Source: [TS-23.038 §6.2.1].
const basic = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"

const escape = 0x1b

// extension holds the letters that are sent as escape and one septet more.
// Source: [TS-23.038 §6.2.1.1].
var extension = map[rune]byte{
	'\f': 0x0a, '^': 0x14, '{': 0x28, '}': 0x29, '\\': 0x2f,
	'[': 0x3c, '~': 0x3d, ']': 0x3e, '|': 0x40, '€': 0x65,
}

// toSeptet and fromSeptet are basic both ways, fromEscaped is extension
// backwards; all three are constant.
var (
	toSeptet    = septets()
	fromSeptet  = []rune(basic)
	fromEscaped = escaped()
)

func septets() map[rune]byte {
	m := make(map[rune]byte, 128)
	for i, r := range []rune(basic) {
		if r != escape {
			m[r] = byte(i)
		}
	}
	return m
}

func escaped() map[byte]rune {
	m := make(map[byte]rune, len(extension))
	for r, s := range extension {
		m[s] = r
	}
	return m
}

// latin is width for the letters up to U+00FF, which nearly all are; constant.
var latin = latinWidths()

func latinWidths() (widths [0x100]uint8) {
	for r := range widths {
		widths[r] = uint8(lookUpWidth(rune(r)))
	}
	return widths
}

// width is how many septets a letter takes: 1 or 2, and 0 when the alphabet
// lacks it.
func width(r rune) int {
	if uint32(r) < uint32(len(latin)) {
		return int(latin[r])
	}
	return lookUpWidth(r)
}

func lookUpWidth(r rune) int {
	if _, ok := toSeptet[r]; ok {
		return 1
	}
	if _, ok := extension[r]; ok {
		return 2
	}
	return 0
}

// Encode gives a text's septets, one a byte. It is not ok when the alphabet
// lacks a letter; septets are then nil.
func Encode(s string) (septets []byte, ok bool) {
	septets = make([]byte, 0, len(s))
	for _, r := range s {
		if v, ok := toSeptet[r]; ok {
			septets = append(septets, v)
		} else if v, ok := extension[r]; ok {
			septets = append(septets, escape, v)
		} else {
			return nil, false
		}
	}
	return septets, true
}

// Decode gives the text of septets, one a byte; the high bit is ignored. An escaped
// septet without a meaning becomes its letter of the default alphabet, and an escape at
// the end becomes a space: a message is never refused. Source: [TS-23.038 §6.2.1.1],
// from memory.
func Decode(septets []byte) string {
	text := make([]rune, 0, len(septets))
	for i := 0; i < len(septets); i++ {
		v := septets[i] & 0x7f
		if v != escape {
			text = append(text, fromSeptet[v])
			continue
		}
		if i++; i == len(septets) {
			text = append(text, ' ')
			break
		}
		v = septets[i] & 0x7f
		r, known := fromEscaped[v]
		switch {
		case known:
		case v == escape:
			r = ' '
		default:
			r = fromSeptet[v]
		}
		text = append(text, r)
	}
	return string(text)
}
