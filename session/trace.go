package session

import (
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Trace is how a person who asked to be forgotten can be found. In the same
// exchange, an engine removes it from everything it holds:
//
//   - of the phone: its dialogue, unless the turn writes that; the words of the
//     answers kept for redelivery, but for this exchange's own: a message that
//     comes again is met with silence; the messages that wait, but
//     for answers and cautions, which are sent and lose number and text then;
//     number and text of those that were sent;
//   - of phone or person: reminders;
//   - the name, wherever it stands in a text or a dialogue of somebody else.
type Trace struct {
	Person PersonID
	Phone  Phone
	Name   string
	Now    time.Time // when they are forgotten; zero where that is of no use
}

// Removed stands in a text where a name or number was.
const Removed = "***"

// Trace is what a person can be found by.
func (p Person) Trace() Trace { return Trace{Person: p.ID, Phone: p.Phone, Name: p.Name} }

// Empty reports whether there is nothing to find.
func (t Trace) Empty() bool { return t == Trace{} }

// Redact returns the text without name and number.
func (t Trace) Redact(text string) string {
	for _, word := range t.Words() {
		text = withoutWord(text, word)
	}
	return text
}

// Words returns what Redact takes out: the name, as it is and as phones show
// it, and the number.
func (t Trace) Words() (words []string) {
	for _, word := range []string{t.Name, foldName(t.Name), string(t.Phone)} {
		if word != "" && !slices.Contains(words, word) {
			words = append(words, word)
		}
	}
	return words
}

// In reports whether the name or the number stands in a text.
func (t Trace) In(text string) bool { return t.Redact(text) != text }

// longestWait is longer than any message waits: one that is due later was made under
// a clock far ahead, and would keep number and text until then.
const longestWait = 7 * 24 * time.Hour

// Drops reports whether a waiting message to the phone is dropped: nobody asked
// for it just now, and it warns of nothing; or it is due at no time to wait for.
func (t Trace) Drops(o Outgoing) bool {
	if o.State == Queued && !t.Now.IsZero() && o.Due.After(t.Now.Add(longestWait)) {
		return true
	}
	return o.State == Queued && o.Purpose.Unprompted()
}

// Forget erases a message to the phone: at once, or as soon as it was sent.
func (o *Outgoing) Forget() {
	o.Erase = true
	o.Settled()
}

// Settled takes number and text out of a message with Erase set that no longer
// waits. An engine calls it whenever it stores a message.
func (o *Outgoing) Settled() {
	if o.Erase && o.State != Queued {
		o.To, o.Text = "", ""
	}
}

// Received sets what a receipt says that became of a message. The receipt may be
// older than the last change, as one of an earlier attempt is: the change stays where
// it is, since a day's money counts it.
func (o *Outgoing) Received(state OutgoingState, at time.Time) {
	o.State = state
	if at.After(o.Changed) {
		o.Changed = at
	}
}

// Redact removes a person's traces from somebody else's dialogue. It reports
// whether there were any.
func (d *Dialogue) Redact(t Trace) (found bool) {
	for _, text := range d.Memo.texts() {
		if t.In(*text) {
			*text, found = t.Redact(*text), true
		}
	}
	return found
}

// foldName is a name in the letters that every phone shows.
func foldName(name string) string {
	return strings.Map(func(r rune) rune {
		if plain := PlainLetter(r); plain != 0 {
			return plain
		}
		return r
	}, name)
}

// withoutWord replaces a word where it stands by itself. Inside a longer word
// it stays: that is somebody else's name.
func withoutWord(text, word string) string {
	var out strings.Builder
	for rest := text; ; {
		i := strings.Index(rest, word)
		if i < 0 {
			if out.Len() == 0 {
				return rest
			}
			out.WriteString(rest)
			return out.String()
		}
		end := i + len(word)
		before, _ := utf8.DecodeLastRuneInString(text[:len(text)-len(rest)+i])
		after, _ := utf8.DecodeRuneInString(rest[end:])
		if partOfWord(before) || partOfWord(after) {
			_, size := utf8.DecodeRuneInString(rest[i:])
			out.WriteString(rest[:i+size])
			rest = rest[i+size:]
			continue
		}
		out.WriteString(rest[:i])
		out.WriteString(Removed)
		rest = rest[end:]
	}
}

func partOfWord(r rune) bool {
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsDigit(r))
}
