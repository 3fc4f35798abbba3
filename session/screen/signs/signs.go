// Package signs reads what people say they saw and smelt of a lot, and says it
// back.
package signs

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// Flags are the flags in the order of the screen's numbers 2 to 5.
var Flags = grading.FlagsOn("seen")

// insectSign is the screen's number for live insects.
const insectSign = 6

// foundOne is written for live insects that were seen and not counted: at least one.
const foundOne = ask.Whole

// Found is what a person says about a lot's signs. The zero value does not mean
// that all is well.
type Found struct {
	Flags   []grading.Flag
	Insects bool
}

// Add adds a flag.
func (f *Found) Add(flag grading.Flag) {
	if !slices.Contains(f.Flags, flag) {
		f.Flags = append(f.Flags, flag)
	}
}

// In reads signs as people key them: "2", "2,3", "23", "2.3", "2 3", "1" or
// a word for all good, or the words for what was found. It reports whether the
// entry could be read; 1 beside another number is no answer.
func In(t *talk.Talk, entry string) (f Found, ok bool) {
	// A plain yes to "do you see any of this" does not mean "all good": we ask
	// which.
	asks := strings.ContainsAny(entry, "?؟") // "OK?" is no answer
	if !asks && (ask.No(t, entry) && entry != "2" || t.Hears("accept.looked", entry)) {
		return f, true
	}
	if digits, plain := Keyed(entry); plain {
		good := strings.Contains(digits, "1")
		for _, d := range digits {
			switch n := int(d - '0'); {
			case n < 1 || n > insectSign || good && n != 1:
				return f, false
			case n == insectSign:
				f.Insects = true
			case n > 1:
				f.Add(Flags[n-2])
			}
		}
		return f, digits != ""
	}
	for _, word := range strings.FieldsFunc(entry, func(r rune) bool { return strings.ContainsRune(",;+&/.", r) }) {
		if !f.hear(t, strings.TrimSpace(word)) {
			return f, false
		}
	}
	return f, len(f.Flags) > 0 || f.Insects
}

// Keyed returns only the digits of an entry that consists of digits and what
// people put between them.
func Keyed(entry string) (digits string, plain bool) {
	for _, r := range session.PlainDigits(entry) {
		switch {
		case r >= '0' && r <= '9':
			digits += string(r)
		case !strings.ContainsRune(" ,.;+&/-", r):
			return "", false
		}
	}
	return digits, digits != ""
}

// hear takes a word or a label of a sign.
func (f *Found) hear(t *talk.Talk, word string) bool {
	for i, flag := range Flags {
		if t.Hears("shorthand."+string(flag), word) || labelled(t.Say("seen."+string(flag)), strconv.Itoa(i+2), word) {
			f.Add(flag)
			return true
		}
	}
	switch {
	case t.Hears("shorthand."+string(grading.OffOdour), word):
		f.Add(grading.OffOdour)
	case t.Hears("shorthand."+string(grading.VeryWet), word):
		f.Add(grading.VeryWet)
	case t.Hears("shorthand."+string(grading.TooWet), word):
		f.Add(grading.TooWet)
	case t.Hears("shorthand.live_weevils", word), t.Hears("shorthand.live_others", word), labelled(t.Say("seen.insects"), strconv.Itoa(insectSign), word):
		f.Insects = true
	default:
		return false
	}
	return true
}

// labelled reports whether a word is the label of a number on the screen.
func labelled(line, number, word string) bool {
	return strings.EqualFold(strings.TrimSpace(strings.TrimPrefix(line, number)), word)
}

// Note writes what was found into the readings, and that somebody looked. What
// the bite test found stays.
func (f *Found) Note(r *grading.Readings) {
	for _, flag := range r.Flags {
		if flag.OfWater() {
			f.Add(flag)
		}
	}
	r.Flags, r.Looked = f.Flags, grading.WasLooked
	r.Set(grading.LiveWeevils, 0)
	r.Set(grading.LiveOthers, 0)
	if f.Insects {
		r.Set(grading.LiveOthers, foundOne) // until they are counted
	}
}

// Join adds what was found to what was said before it was asked: an "all good"
// takes no danger back.
func (f *Found) Join(r *grading.Readings) {
	f.Tell(r)
	r.Looked = grading.WasLooked
	for _, field := range grading.FieldsOf(grading.Insects) {
		if !r.Has(field) {
			r.Set(field, 0)
		}
	}
}

// Tell adds what was found, without saying that the person looked for
// everything.
func (f *Found) Tell(r *grading.Readings) {
	said := Found{Flags: r.Flags}
	for _, flag := range f.Flags {
		said.Add(flag)
	}
	r.Flags = said.Flags
	weevils, _ := r.Get(grading.LiveWeevils)
	others, _ := r.Get(grading.LiveOthers)
	if f.Insects && weevils+others == 0 {
		r.Set(grading.LiveOthers, foundOne)
	}
}

// Noted repeats the signs that were keyed, if there were any.
func Noted(t *talk.Talk, r *grading.Readings) string {
	if len(r.Flags) == 0 {
		return ""
	}
	return t.Say("seen.noted", "what", Text(t, r))
}

// Smell reads what a bad smell is: 1, 2 or both, or its words.
func Smell(t *talk.Talk, entry string) (flags []grading.Flag, ok bool) {
	digits, plain := Keyed(entry)
	switch {
	case plain && strings.Trim(digits, "12") != "":
		return nil, false
	case plain:
		for i, flag := range [...]grading.Flag{grading.Musty, grading.OffOdour} {
			if strings.Contains(digits, strconv.Itoa(i+1)) {
				flags = append(flags, flag)
			}
		}
	case t.Hears("shorthand.off_odour", entry), labelled(t.Say("smell.off_odour"), "2", entry):
		flags = []grading.Flag{grading.OffOdour}
	case t.Hears("shorthand.musty", entry), labelled(t.Say("smell.musty"), "1", entry):
		flags = []grading.Flag{grading.Musty}
	}
	return flags, len(flags) > 0
}

// Text names what was seen, "none" for nothing, or says that nobody looked.
func Text(t *talk.Talk, r *grading.Readings) string {
	var out []string
	for _, f := range r.Flags {
		out = append(out, t.Say("flag."+string(f)))
	}
	for _, f := range grading.FieldsOf(grading.Insects) {
		if v, ok := r.Get(f); ok && v > 0 {
			out = append(out, t.Say("flag."+f.String())+" "+t.Number(v))
		}
	}
	switch {
	case len(out) == 0 && r.Looked == grading.WasLooked:
		return t.Say("line.none")
	case !r.Unlooked():
	case r.Looked == grading.NotLooked:
		out = append(out, t.Say("seen.unlooked"))
	case len(out) == 0:
		out = append(out, t.Say("seen.unrecorded"))
	}
	return strings.Join(out, ", ")
}

// Heard reads signs said in words, one or a sentence of them, whatever was asked. It
// reports whether there were any; keys alone are none.
func Heard(t *talk.Talk, entry string) (f Found, ok bool) {
	if _, plain := Keyed(entry); plain {
		return Found{}, false
	}
	if f, ok = In(t, entry); !ok {
		f, ok = Dangers(t, entry)
	}
	return f, ok && (len(f.Flags) > 0 || f.Insects)
}

// Dangers reads the signs of a sentence, "it is mouldy and smells of fuel", by the
// words of the shorthand. Beside a word that is not understood only what makes a lot
// no food is taken: of anything else it is asked again. Likewise beside a number, "8
// bags mouldy", unless that is 0. Nothing of it is "all good".
func Dangers(t *talk.Talk, entry string) (f Found, ok bool) {
	plain := session.PlainDigits(entry)
	numbers := strings.ContainsAny(plain, "0123456789")
	if numbers && slices.ContainsFunc(strings.FieldsFunc(plain, func(r rune) bool { return !unicode.IsDigit(r) }), func(n string) bool { return strings.Trim(n, "0") == "" }) {
		return f, false
	}
	message, problems := ask.Reader(t).Parse(entry)
	for _, lot := range message.Lots {
		for _, flag := range lot.Readings.Flags {
			f.Add(flag)
		}
		weevils, _ := lot.Readings.Get(grading.LiveWeevils)
		others, _ := lot.Readings.Get(grading.LiveOthers)
		f.Insects = f.Insects || weevils+others > 0
	}
	unsure := numbers || slices.ContainsFunc(problems, func(p shorthand.Problem) bool { return p.Trouble == shorthand.UnknownWord })
	return f, slices.ContainsFunc(f.Flags, grading.Flag.Unfit) || !unsure && (len(f.Flags) > 0 || f.Insects)
}

// Any reads signs as they are keyed, or the dangers of a sentence.
func Any(t *talk.Talk, entry string) (f Found, ok bool) {
	if f, ok = In(t, entry); !ok {
		f, ok = Dangers(t, entry)
	}
	return f, ok
}

// Alive reports whether any were found alive.
func Alive(r *grading.Readings) bool {
	weevils, _ := r.Get(grading.LiveWeevils)
	others, _ := r.Get(grading.LiveOthers)
	return weevils+others > 0
}
