package screen

import (
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

const (
	lookScreen      session.ScreenID = "look"
	lookSmellScreen session.ScreenID = "look-smell"
)

// look are the screens that ask, after a check was filed, for the signs that
// nobody looked for. The figures stay, and nothing is praised yet.
func look() []talk.Screen {
	return []talk.Screen{
		{ID: lookScreen, Show: showLook, Take: takeLook, Help: helpful("help.seen"), Waits: signsStillAwaited},
		{ID: lookSmellScreen, Show: showSmell, Take: takeLookSmell, Help: helpful("help.seen")},
	}
}

// shownOf is the screen that a check just filed is shown on.
func shownOf(c *session.Check) talk.Move {
	if said := c.Said(); said.Unlooked() {
		return talk.Leap(lookScreen)
	}
	return talk.Leap(gradeScreen)
}

// showLook says the figures and the slip with how much the lot is, and asks: the
// fullest form that fits.
func showLook(t *talk.Talk) talk.Shown {
	c, j, ok := about(t)
	if !ok {
		return says(t.Say("mine.none"))
	}
	if handOnly(&c, &j) {
		return handLook(t, c)
	}
	top := whoseLine(t, c) + gradeLine(t, c)
	held, caution := heldBy(t, c, &j), safetyLine(t, &j.Advice)
	if len(j.Result.Gates) > 0 && !wetByHand(&j.Result) { // a danger stands first, and in every form
		top, held = whoseLine(t, c)+t.Say("grade.gated", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete), "what", signText(t, &c.Readings)), []string{""}
	}
	if found := t.Found(&c); found != "" && (len(j.Result.Gates) == 0 || wetByHand(&j.Result)) { // what was said is said back
		top = joined(top, found)
	}
	slip, missing := slipLine(t, &c), missingLine(t, c)
	remedies := remedyLines(t, &j.Advice)
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
	ask := t.Say("look.ask")
	forms := func(slip, short, why string) []string {
		first := joined(top, caution, remedy, missing, slip, short) // what to do comes before why
		if remedy == "" {
			first = joined(top, why, caution, missing, slip, ask)
		}
		return []string{
			joined(top, held[0], caution, remedies[0], missing, slip, ask), joined(top, why, caution, remedy, missing, slip, short), first,
			joined(top, why, caution, missing, slip, ask), joined(top, why, caution, remedy, slip, short), joined(top, why, caution, slip, short),
			joined(top, caution, remedy, slip, short), joined(top, caution, slip, short),
		}
	}
	fits := func(text string) bool { return t.Fits(text + foot) }
	asked, brief := t.Say("look.short"), t.Say("look.brief")
	bare := forms(slip, asked, why)
	at := slices.IndexFunc(bare, fits)
	if at < 0 {
		at = len(bare) - 1
	}
	full, short := withAmount(slip, t.Amount(c.Lot)), withAmount(slip, shortAmount(t, c.Lot))
	ways := [][]string{forms(full, asked, why), forms(short, asked, why), forms(short, brief, why), forms(short, brief, tiny)}
	samples := samplesLine(t, c)
	keeps := [][]string{{remedy, why, ask}, {remedy, samples, ask}, {remedy, samples}} // the amount takes the place of a reason, or of the numbers
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
					return stopping(&j, says(way[i]))
				}
			}
		}
	}
	if led && fits(bare[at]) { // it was said just before
		return stopping(&j, says(bare[at]))
	}
	if t.Fits(joined(top, caution, short) + "\n" + t.Say("foot.more")) { // what is asked goes on to the next page
		return stopping(&j, says(joined(top, caution, short, asked)))
	}
	return stopping(&j, says(joined(bare[at], shortAmount(t, c.Lot))))
}

// takeLook completes the check under the same slip.
func takeLook(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return talk.Home("")
	}
	f, ok := signsOrDangers(t, entry)
	if !ok {
		return talk.Refuse(t.Say("wrong.choice"))
	}
	if t.Late() && mayBeALine(&f, entry) {
		return talk.Stay("") // without a line more, so that the question stays on its page
	}
	if _, err := t.Complete(c, f.join); err != nil {
		return talk.Refuse(t.Say("wrong.grade"))
	}
	for _, flag := range f.flags {
		if flag == grading.Musty {
			return talk.Go(lookSmellScreen)
		}
	}
	return talk.Leap(gradeScreen)
}

// signsStillAwaited reports whether an entry, however late, may say what was seen
// and smelt of a lot that nobody has looked at yet.
func signsStillAwaited(t *talk.Talk, entry string) bool {
	c, ok := t.Check(t.Memo().Slip)
	if said := c.Said(); !ok || c.State != session.Filed || !said.Unlooked() {
		return false
	}
	_, ok = signsOrDangers(t, strings.TrimSpace(entry))
	return ok
}

func signsOrDangers(t *talk.Talk, entry string) (f found, ok bool) {
	if f, ok = signsIn(t, entry); !ok {
		f, ok = dangersIn(t, entry)
	}
	return f, ok
}

// mayBeALine reports whether an entry that comes late may be meant for the menu, "4"
// or "2 3", or for another message, "OK": it is asked again.
func mayBeALine(f *found, entry string) bool {
	_, plain := keyed(entry)
	return len(f.flags) == 0 && !f.insects || plain && (len(entry) == 1 || strings.Contains(entry, " "))
}

// takeLookSmell asks what kind of bad smell it is; until then it is filed as
// musty.
func takeLookSmell(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return talk.Home("")
	}
	flags, ok := smellIn(t, entry)
	if !ok {
		return wrongChoice(t)
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
	return talk.Leap(gradeScreen)
}
