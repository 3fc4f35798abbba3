package screen

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

const (
	seenScreen    session.ScreenID = "seen"
	smellScreen   session.ScreenID = "smell"
	insectsScreen session.ScreenID = "insects"
)

// seen are the screens about what no tool measures.
func seen() []talk.Screen {
	return []talk.Screen{
		{ID: seenScreen, Show: showSeen, Take: takeSeen, Help: helpful("help.seen")},
		{ID: smellScreen, Show: showSmell, Take: takeSmell, Help: helpful("help.seen")},
		{ID: insectsScreen, Show: showInsects, Take: takeInsects, Help: helpful("help.insects"),
			Zero: func(*talk.Talk) bool { return true }},
	}
}

// signs are the flags in the order of the screen's numbers 2 to 5.
var signs = grading.FlagsOn("seen")

// insectSign is the screen's number for live insects.
const insectSign = 6

// foundOne is written for live insects that were seen and not counted: at least one.
const foundOne = whole

// found is what a person says about a lot's signs. The zero value does not mean
// that all is well.
type found struct {
	flags   []grading.Flag
	insects bool
}

func (f *found) add(flag grading.Flag) {
	if !slices.Contains(f.flags, flag) {
		f.flags = append(f.flags, flag)
	}
}

// signsIn reads signs as people key them: "2", "2,3", "23", "2.3", "2 3", "1" or
// a word for all good, or the words for what was found. It reports whether the
// entry could be read; 1 beside another number is no answer.
func signsIn(t *talk.Talk, entry string) (f found, ok bool) {
	// A plain yes to "do you see any of this" does not mean "all good": we ask
	// which.
	asks := strings.ContainsAny(entry, "?؟") // "OK?" is no answer
	if !asks && (no(t, entry) && entry != "2" || t.Hears("accept.looked", entry)) {
		return f, true
	}
	if digits, plain := keyed(entry); plain {
		good := strings.Contains(digits, "1")
		for _, d := range digits {
			switch n := int(d - '0'); {
			case n < 1 || n > insectSign || good && n != 1:
				return f, false
			case n == insectSign:
				f.insects = true
			case n > 1:
				f.add(signs[n-2])
			}
		}
		return f, digits != ""
	}
	for _, word := range strings.FieldsFunc(entry, func(r rune) bool { return strings.ContainsRune(",;+&/.", r) }) {
		if !f.hear(t, strings.TrimSpace(word)) {
			return f, false
		}
	}
	return f, len(f.flags) > 0 || f.insects
}

// keyed returns only the digits of an entry that consists of digits and what
// people put between them.
func keyed(entry string) (digits string, plain bool) {
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
func (f *found) hear(t *talk.Talk, word string) bool {
	for i, flag := range signs {
		if t.Hears("shorthand."+string(flag), word) || labelled(t.Say("seen."+string(flag)), itoa(i+2), word) {
			f.add(flag)
			return true
		}
	}
	switch {
	case t.Hears("shorthand."+string(grading.OffOdour), word):
		f.add(grading.OffOdour)
	case t.Hears("shorthand."+string(grading.VeryWet), word):
		f.add(grading.VeryWet)
	case t.Hears("shorthand."+string(grading.TooWet), word):
		f.add(grading.TooWet)
	case t.Hears("shorthand.live_weevils", word), t.Hears("shorthand.live_others", word), labelled(t.Say("seen.insects"), itoa(insectSign), word):
		f.insects = true
	default:
		return false
	}
	return true
}

// labelled reports whether a word is the label of a number on the screen.
func labelled(line, number, word string) bool {
	return strings.EqualFold(strings.TrimSpace(strings.TrimPrefix(line, number)), word)
}

// note writes what was found into the readings, and that somebody looked. What
// the bite test found stays.
func (f *found) note(r *grading.Readings) {
	for _, flag := range r.Flags {
		if flag.OfWater() {
			f.add(flag)
		}
	}
	r.Flags, r.Looked = f.flags, grading.WasLooked
	r.Set(grading.LiveWeevils, 0)
	r.Set(grading.LiveOthers, 0)
	if f.insects {
		r.Set(grading.LiveOthers, foundOne) // until they are counted
	}
}

// join adds what was found to what was said before it was asked: an "all good"
// takes no danger back.
func (f *found) join(r *grading.Readings) {
	f.tell(r)
	r.Looked = grading.WasLooked
	for _, field := range insectGroup.fields {
		if !r.Has(field) {
			r.Set(field, 0)
		}
	}
}

// tell adds what was found, without saying that the person looked for
// everything.
func (f *found) tell(r *grading.Readings) {
	said := found{flags: r.Flags}
	for _, flag := range f.flags {
		said.add(flag)
	}
	r.Flags = said.flags
	weevils, _ := r.Get(grading.LiveWeevils)
	others, _ := r.Get(grading.LiveOthers)
	if f.insects && weevils+others == 0 {
		r.Set(grading.LiveOthers, foundOne)
	}
}

func showSeen(t *talk.Talk) talk.Shown {
	options := []string{t.Say("seen.none")}
	for _, f := range signs {
		options = append(options, t.Say("seen."+string(f)))
	}
	options = append(options, t.Say("seen.insects"))
	if lack := t.Say("seen.lack"); t.Fits(t.Say("seen.ask") + "\n" + strings.Join(append(options, lack), "\n") + "\n" + t.Say("foot.how")) {
		options = append(options, lack)
	}
	return says(t.Say("seen.ask"), options...)
}

func takeSeen(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	if entry == lackKey {
		if !signsAsked(&draft.Readings) { // what was said before stays said
			draft.Readings.Looked = grading.NotLooked
			if draft.Readings.Signed() {
				draft.Readings.Looked = grading.WasLooked
			}
		}
		return talk.Go(nextStep(t))
	}
	f, ok := signsIn(t, entry)
	if !ok {
		return wrongChoice(t)
	}
	if first := !signsAsked(&draft.Readings); first {
		f.join(&draft.Readings)
	} else {
		f.note(&draft.Readings)
	}
	draft.Sure = slices.DeleteFunc(draft.Sure, func(s string) bool { return s == smellSure })
	t.Touch(grading.LiveWeevils)
	if f.insects {
		return talk.Go(insectsScreen)
	}
	return talk.Go(nextStep(t)).Saying(noted(t, &draft.Readings))
}

// noted repeats the signs that were keyed, if there were any.
func noted(t *talk.Talk, r *grading.Readings) string {
	if len(r.Flags) == 0 {
		return ""
	}
	return t.Say("seen.noted", "what", signText(t, r))
}

// smellSure says that the person was asked what kind of bad smell it is. Until
// then it counts as musty, so that a dropped session loses no danger.
const smellSure = "smell"

// smellOpen reports whether we still have to ask what kind of bad smell it is.
func smellOpen(draft *session.Draft) bool {
	return slices.Contains(draft.Readings.Flags, grading.Musty) && !slices.Contains(draft.Sure, smellSure)
}

func showSmell(t *talk.Talk) talk.Shown {
	return says(t.Say("smell.ask"), t.Say("smell.musty"), t.Say("smell.off_odour"))
}

func takeSmell(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	flags, ok := smellIn(t, entry)
	if !ok {
		return wrongChoice(t)
	}
	r := &draft.Readings
	r.Flags = append(slices.DeleteFunc(slices.Clone(r.Flags), func(f grading.Flag) bool { return f == grading.Musty || f == grading.OffOdour }), flags...)
	draft.Sure = append(draft.Sure, smellSure)
	return talk.Go(nextStep(t)).Saying(noted(t, r))
}

// smellIn reads what a bad smell is: 1, 2 or both, or its words.
func smellIn(t *talk.Talk, entry string) (flags []grading.Flag, ok bool) {
	digits, plain := keyed(entry)
	switch {
	case plain && strings.Trim(digits, "12") != "":
		return nil, false
	case plain:
		for i, flag := range [...]grading.Flag{grading.Musty, grading.OffOdour} {
			if strings.Contains(digits, itoa(i+1)) {
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

func showInsects(t *talk.Talk) talk.Shown {
	return says(t.Say("ask.insects", "like", like(t, insectGroup.fields)))
}

func takeInsects(t *talk.Talk, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	if entry == lackKey { // seen, and not counted
		return talk.Go(nextStep(t)).Saying(noted(t, &draft.Readings))
	}
	like := like(t, insectGroup.fields)
	numbers, why := talk.ReadNumbers(entry)
	if why != "" {
		return misread(t, why, like)
	}
	if len(numbers) > 2 {
		return talk.Refuse(t.Say("wrong.many", "got", len(numbers), "want", 2, "like", like))
	}
	readings := draft.Readings.Clone()
	readings.Set(grading.LiveOthers, 0)
	for i, v := range values(numbers) {
		readings.Set(insectGroup.fields[i], v)
	}
	if move := impossible(t, &readings, insectGroup.fields); move != nil {
		return *move
	}
	draft.Readings = readings
	return talk.Go(nextStep(t)).Saying(noted(t, &readings))
}

// signText names what was seen, "none" for nothing, or says that nobody looked.
func signText(t *talk.Talk, r *grading.Readings) string {
	var out []string
	for _, f := range r.Flags {
		out = append(out, t.Say("flag."+string(f)))
	}
	for _, f := range insectGroup.fields {
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
