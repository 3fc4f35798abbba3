package talk

import (
	"sort"
	"strings"
	"unicode/utf8"

	"threshline/session"
)

// moreKey is what a person sends for the next page; otherKey replaces it where
// 9 is a choice on the screen, such as the number of a grower: no screen has
// one key for two things.
const moreKey, otherKey = "9", "101"

// moreOf is the key for the next page of a screen.
func moreOf(shown *Shown) string {
	for _, option := range shown.Options {
		if strings.HasPrefix(option, moreKey+" ") || strings.HasPrefix(option, moreKey+":") {
			return otherKey
		}
	}
	return moreKey
}

// render writes the current screen: the lead line, the screen's own text, its
// options and the keys that lead away, cut into pages that fit the budget. It
// never leaves anything out.
func (t *Talk) render() session.Reply {
	shown := t.screen().Show(t)
	text := strings.Join(append([]string{shown.Text}, shown.Options...), "\n")
	if shown.Text == "" {
		text = strings.Join(shown.Options, "\n")
	}
	if lead := t.Memo().Lead; lead != "" {
		text = lead + "\n" + text
	}
	text = t.showable(text)
	more := t.Say("foot.more")
	if t.Dialogue.Screen == MenuScreen && len(t.Dialogue.Trail) == 0 {
		more = t.Say("foot.more_only")
	}
	more = strings.Replace(more, moreKey, moreOf(&shown), 1)
	voice, feet := t.Voice, t.feet(shown.End)
	if shown.Long && t.In.Kind == session.SMS {
		voice.Budget.Septets, feet = voice.Budget.Joined(mostMessages), []string{""}
	}
	pages := voice.pages(text, feet, more)
	d := t.Dialogue
	d.Page = max(0, min(d.Page, len(pages)-1))
	last := d.Page == len(pages)-1
	if shown.End && last {
		d.Screen, d.Trail, d.Page = "", nil, 0
		t.Memo().Lead = ""
		return session.Reply{Text: pages[len(pages)-1], Safety: shown.Safety}
	}
	return session.Reply{Text: pages[d.Page], More: true, Safety: shown.Safety}
}

// stops reports whether a text says that a lot is no food, or not accepted:
// such a text is sent even over the limit.
func (v *Voice) stops(text string) bool {
	for _, key := range [...]string{"alert.never", "held.lab", "held.seed", "caution.mouldy", "caution.treated_seed", "caution.tainted"} {
		if strings.Contains(text, v.showable(v.Say(key))) {
			return true
		}
	}
	return false
}

// pages cuts a text. The last page bears the fullest line of keys that fits,
// the others the one for "more".
func (v *Voice) pages(text string, feet []string, more string) []string {
	for _, foot := range feet {
		if whole := under(text, foot); v.Fits(whole) {
			return []string{whole}
		}
	}
	var pages []string
	rest := text
	for rest != "" {
		for _, foot := range feet {
			if whole := under(rest, foot); v.Fits(whole) {
				return append(pages, whole)
			}
		}
		page, left := v.cut(rest, more)
		pages, rest = append(pages, under(page, more)), left
	}
	return pages
}

// feet are the lines of keys that may stand under a screen, the fullest first;
// the last is always short enough.
func (t *Talk) feet(end bool) []string {
	switch {
	case end:
		return []string{""}
	case t.Dialogue.Screen == MenuScreen, t.screen().Open && t.screen().ID != HowScreen:
		return []string{t.Say("foot.menu"), ""}
	case t.In.Kind == session.SMS: // the keys work all the same; a second message costs more than a line is worth
		return []string{t.Say("foot.full"), t.Say("foot.how"), t.Say("foot.tiny"), ""}
	case t.screen().Help != nil:
		return []string{t.Say("foot.full"), t.Say("foot.how"), t.Say("foot.tiny")}
	}
	return []string{t.Say("foot.back"), t.Say("foot.tiny")}
}

func under(text, foot string) string {
	if foot == "" {
		return text
	}
	return text + "\n" + foot
}

// cut returns as much of text as fits a page above foot: whole lines or
// sentences if they fill two fifths of a page, else whole words, else letters.
func (v *Voice) cut(text, foot string) (page, rest string) {
	taken, _ := v.Budget.Count(under("", foot))
	room := max(0, v.Budget.Septets-taken)
	starts := make([]int, 1, min(room, len(text))+2) // of the letters; a letter is a septet at least
	for i := range text {
		if i > 0 {
			starts = append(starts, i)
		}
		if len(starts) > room+1 {
			break
		}
	}
	tooMany := sort.Search(len(starts), func(letters int) bool {
		n, _ := v.Budget.Count(text[:starts[letters]])
		return n > room
	})
	fit := starts[tooMany-1]
	window := text[:fit+1]
	at := strings.LastIndex(window, "\n")
	if end := sentenceEnd(text, fit); end > at {
		at = end
	}
	if at < fit*2/5 {
		at = max(at, strings.LastIndexAny(window, " \n"))
		for ; at > 0 && splitsPair(text, at); at = strings.LastIndexAny(text[:at], " \n") {
		}
	}
	if at <= 0 {
		_, first := utf8.DecodeRuneInString(text)
		at = max(fit, first)
		return text[:at], text[at:]
	}
	return strings.TrimRight(text[:at], " \n"), strings.TrimLeft(text[at:], " \n")
}

// splitsPair reports whether a page that ends at the space at index at would
// separate a capital letter from its number ("M 13.8"), or one number of it
// from the next: a person who copies the pattern from the pages would copy it
// wrong.
func splitsPair(text string, at int) bool {
	before := text[strings.LastIndexAny(text[:at], " \n")+1 : at]
	after, _, _ := strings.Cut(strings.TrimLeft(text[at:], " "), " ")
	return (taughtLetter(before) || numberLike(before)) && numberLike(after)
}

// taughtLetter reports whether a word is one to five capital letters.
func taughtLetter(word string) bool {
	return word != "" && len(word) <= 5 && strings.Trim(word, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}

// numberLike reports whether a word begins with a digit.
func numberLike(word string) bool { return word != "" && word[0] >= '0' && word[0] <= '9' }

// sentenceEnd returns where the last whole sentence within most bytes ends: at
// a full stop, with a space and a capital letter after it. It returns 0 if
// there is none.
func sentenceEnd(text string, most int) int {
	for i := min(most-1, len(text)-3); i > 0; i-- {
		if text[i] == '.' && text[i+1] == ' ' && text[i+2] >= 'A' && text[i+2] <= 'Z' {
			return i + 1
		}
	}
	return 0
}

// turnPage turns to the next page when there is one and it was asked for.
func (t *Talk) turnPage(entry string) bool {
	if entry != moreKey && entry != otherKey && !t.Hears("accept.next", entry) {
		return false
	}
	shown := t.screen().Show(t)
	if key := moreOf(&shown); entry != key && (entry == moreKey || entry == otherKey) {
		return false
	}
	before := t.Dialogue.Page
	d := *t.Dialogue
	probe := *t
	probe.Dialogue = &d
	d.Page = before + 1
	probe.render()
	if d.Page != before+1 && d.Screen != "" {
		return false
	}
	t.Dialogue.Page = before + 1
	t.understood = true
	return true
}
