package handset

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// A small feature phone shows about 24 letters on a line and 9 lines; a longer
// text scrolls, so the frame grows downwards as the person would scroll.
const (
	screenColumns = 24
	screenRows    = 7
)

// drawScreen frames a text as a basic phone shows it, wrapped between words,
// with its length in septets below.
func drawScreen(text string, septets, budget int, plain, more bool) string {
	var b strings.Builder
	rule := strings.Repeat("-", screenColumns+2)
	fmt.Fprintf(&b, ".%s.\n", rule)
	lines := wrap(text, screenColumns)
	for len(lines) < screenRows {
		lines = append(lines, "")
	}
	for _, line := range lines {
		fmt.Fprintf(&b, "| %s%s |\n", line, strings.Repeat(" ", screenColumns-utf8.RuneCountInString(line)))
	}
	fmt.Fprintf(&b, "'%s'\n", rule)
	fmt.Fprintf(&b, "  %d/%d septets", septets, budget)
	if !plain {
		b.WriteString(", letters that a basic phone cannot show")
	}
	if septets > budget {
		b.WriteString(", TOO LONG")
	}
	if !more {
		b.WriteString(", session over")
	}
	b.WriteString("\n")
	return b.String()
}

// wrap breaks a text into lines of at most width letters, between words where
// it can.
func wrap(text string, width int) (lines []string) {
	for _, paragraph := range strings.Split(text, "\n") {
		line := ""
		for _, word := range strings.Split(paragraph, " ") {
			for utf8.RuneCountInString(word) > width {
				if line != "" {
					lines, line = append(lines, line), ""
				}
				letters := []rune(word)
				lines, word = append(lines, string(letters[:width])), string(letters[width:])
			}
			switch {
			case line == "":
				line = word
			case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) <= width:
				line += " " + word
			default:
				lines, line = append(lines, line), word
			}
		}
		lines = append(lines, line)
	}
	return lines
}
