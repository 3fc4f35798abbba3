package wording

import "strings"

// The GSM 7-bit default alphabet and its extension, whose letters count two
// septets. Source: [TS-23.038 §6.2.1]. The gateway's own codec is gateway/gsm;
// a catalogue is held against this copy because it may not import that.
const (
	basicLetters = "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?" +
		"¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
	extendedLetters = "\f^{}\\[~]|€"
)

// septets counts a text; letters that the alphabet lacks count as one.
func septets(s string) (n int) {
	for _, r := range s {
		n++
		if strings.ContainsRune(extendedLetters, r) {
			n++
		}
	}
	return n
}

// strangers lists the letters that the alphabet lacks, each once.
func strangers(s string) string {
	var out strings.Builder
	for _, r := range s {
		known := strings.ContainsRune(basicLetters, r) || strings.ContainsRune(extendedLetters, r)
		if !known && !strings.ContainsRune(out.String(), r) {
			out.WriteRune(r)
		}
	}
	return out.String()
}
