package answer

import (
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

const (
	lookScreen      session.ScreenID = "look"
	lookSmellScreen session.ScreenID = "look-smell"
)

// ShownOf is the screen that a check just filed is shown on.
func ShownOf(c *session.Check) talk.Move {
	if said := c.Said(); said.Unlooked() {
		return talk.Leap(lookScreen)
	}
	return talk.Leap(GradeScreen)
}

// showLook says the figures and the slip with how much the lot is, and asks: the
// fullest form that fits.
func showLook(t *talk.Talk) talk.Shown {
	c, j, ok := About(t)
	if !ok {
		return ask.Says(t.Say("mine.none"))
	}
	if HandOnly(&c, &j) {
		return handLook(t, c)
	}
	top := whoseLine(t, c) + GradeLine(t, c)
	held, caution := HeldBy(t, c, &j), SafetyLine(t, &j.Advice)
	if len(j.Result.Gates) > 0 && !WetByHand(&j.Result) { // a danger stands first, and in every form
		top, held = whoseLine(t, c)+t.Say("grade.gated", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete), "what", signs.Text(t, &c.Readings)), []string{""}
	}
	if found := t.Found(&c); found != "" && (len(j.Result.Gates) == 0 || WetByHand(&j.Result)) { // what was said is said back
		top = ask.Joined(top, found)
	}
	slip, missing := slipLine(t, &c), MissingLine(t, c)
	remedies := RemedyLines(t, &j.Advice)
	if j.Advice.Best.Remedy == advice.LookFirst { // which is what is asked
		remedies = []string{""}
	}
	why, remedy := held[len(held)-1], remedies[len(remedies)-1]
	tiny := why
	if len(held) > 1 {
		tight := heldTight(t, c, &j)
		tiny = tight[len(tight)-1]
	}
	foot := "\n" + t.Say("foot.tiny")
	if t.In.Kind == session.SMS {
		foot = ""
	}
	if lead := t.Memo().Lead; lead != "" { // what was wrong with an entry: the question stays on its page
		foot += "\n" + lead
	}
	question := t.Say("look.ask")
	forms := func(slip, short, why string) []string {
		first := ask.Joined(top, caution, remedy, missing, slip, short) // what to do comes before why
		if remedy == "" {
			first = ask.Joined(top, why, caution, missing, slip, question)
		}
		return []string{
			ask.Joined(top, held[0], caution, remedies[0], missing, slip, question), ask.Joined(top, why, caution, remedy, missing, slip, short), first,
			ask.Joined(top, why, caution, missing, slip, question), ask.Joined(top, why, caution, remedy, slip, short), ask.Joined(top, why, caution, slip, short),
			ask.Joined(top, caution, remedy, slip, short), ask.Joined(top, caution, slip, short),
		}
	}
	fits := func(text string) bool { return t.Fits(text + foot) }
	asked, brief := t.Say("look.short"), t.Say("look.brief")
	bare := forms(slip, asked, why)
	at := slices.IndexFunc(bare, fits)
	if at < 0 {
		at = len(bare) - 1
	}
	full, short := withAmount(slip, t.Amount(c.Lot)), withAmount(slip, ShortAmount(t, c.Lot))
	ways := [][]string{forms(full, asked, why), forms(short, asked, why), forms(short, brief, why), forms(short, brief, tiny)}
	samples := samplesLine(t, c)
	keeps := [][]string{{remedy, why, question}, {remedy, samples, question}, {remedy, samples}} // the amount takes the place of a reason, or of the numbers
	led := t.Memo().Lead != ""
	if led { // which may speak of the numbers
		keeps = keeps[:2]
	}
	for _, keep := range keeps {
		for i := at; i < len(bare); i++ {
			if slices.ContainsFunc(keep, func(s string) bool { return strings.Contains(bare[at], s) && !strings.Contains(bare[i], s) }) {
				continue
			}
			for _, way := range ways {
				if fits(way[i]) {
					return stopping(&j, ask.Says(way[i]))
				}
			}
		}
	}
	if led && fits(bare[at]) { // it was said just before
		return stopping(&j, ask.Says(bare[at]))
	}
	if t.Fits(ask.Joined(top, caution, short) + "\n" + t.Say("foot.more")) { // what is asked goes on to the next page
		return stopping(&j, ask.Says(ask.Joined(top, caution, short, asked)))
	}
	return stopping(&j, ask.Says(ask.Joined(bare[at], ShortAmount(t, c.Lot))))
}

// takeLook completes the check under the same slip.
func takeLook(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return talk.Home("")
	}
	f, ok := signs.Any(t, entry)
	if !ok {
		return talk.Refuse(t.Say("wrong.choice"))
	}
	if t.Late() && mayBeALine(&f, entry) {
		return talk.Stay("") // without a line more, so that the question stays on its page
	}
	if _, err := t.Complete(c, f.Join); err != nil {
		return talk.Refuse(t.Say("wrong.grade"))
	}
	if slices.Contains(f.Flags, grading.Musty) {
		return talk.Go(lookSmellScreen)
	}
	return talk.Leap(GradeScreen)
}

// signsStillAwaited reports whether an entry, however late, may say what was seen
// and smelt of a lot that nobody has looked at yet.
func signsStillAwaited(t *talk.Talk, entry string) bool {
	c, ok := t.Check(t.Memo().Slip)
	if said := c.Said(); !ok || c.State != session.Filed || !said.Unlooked() {
		return false
	}
	_, ok = signs.Any(t, strings.TrimSpace(entry))
	return ok
}

// mayBeALine reports whether an entry that comes late may be meant for the menu, "4"
// or "2 3", or for another message, "OK": it is asked again.
func mayBeALine(f *signs.Found, entry string) bool {
	_, plain := signs.Keyed(entry)
	return len(f.Flags) == 0 && !f.Insects || plain && (len(entry) == 1 || strings.Contains(entry, " "))
}

// takeLookSmell asks what kind of bad smell it is; until then it is filed as
// musty.
func takeLookSmell(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return talk.Home("")
	}
	flags, ok := signs.Smell(t, entry)
	if !ok {
		return ask.WrongChoice(t)
	}
	_, err := t.Complete(c, func(r *grading.Readings) {
		var kept []grading.Flag
		for _, f := range r.Flags {
			if f != grading.Musty {
				kept = append(kept, f)
			}
		}
		r.Flags = append(kept, flags...)
	})
	if err != nil {
		return talk.Refuse(t.Say("wrong.grade"))
	}
	return talk.Leap(GradeScreen)
}
