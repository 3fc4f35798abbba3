package grading

// PlainDigit gives the ASCII form of an Arabic-Indic, extended Arabic-Indic or
// full-width digit, as phones type them, and whether r is one.
func PlainDigit(r rune) (plain rune, ok bool) {
	for _, zero := range [...]rune{'٠', '۰', '０'} {
		if r >= zero && r <= zero+9 {
			return '0' + r - zero, true
		}
	}
	return r, false
}
