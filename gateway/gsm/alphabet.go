package gsm

import "strings"

// basic is the default alphabet: a letter's place is its septet. Place 0x1B is
// the escape to the extension table, no letter. Source: [TS-23.038 §6.2.1].
const basic = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞ\x1bÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"

const escape = 0x1b

// extension holds the letters that are sent as escape and one septet more.
// Source: [TS-23.038 §6.2.1.1].
const extension = "\f^{}\\[~]|€"

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
	switch {
	case r != escape && strings.ContainsRune(basic, r):
		return 1
	case strings.ContainsRune(extension, r):
		return 2
	}
	return 0
}
