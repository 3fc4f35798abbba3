package answer

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// gradeText says a check's grade as fully as one page can. If there is room, it
// names what else holds the grade down and every step of the remedy. If there
// is not, the reason gets shorter first, then how sure the grade is, then the keys
// go to the next page. The slip, with how much the lot is, stands last, or in the
// first line when the rest needs a second page. For a re-check, the changes since
// the check before come at the end or on the next page.
func gradeText(t *talk.Talk, c session.Check, j *programme.Judged, keys string) string {
	tops, plain := gradeTops(t, c, &j.Result)
	top := tops[0]
	slip, caution, missing := slipLine(t, &c), SafetyLine(t, &j.Advice), ask.Joined(MissingLine(t, c), t.Signs(&c))
	lot, since := withAmount(slip, ShortAmount(t, c.Lot)), sinceText(t, c)
	if t.Led() && caution == "" { // just seen whole: what can be sent stands on one screen with what was wrong
		return ask.Joined(top, lot, since)
	}
	held, remedies := HeldBy(t, c, j), RemedyLines(t, &j.Advice)
	tight := heldTight(t, c, j)
	foot, more := "\n"+keys+"\n"+t.Say("foot.tiny"), "\n"+t.Say("foot.more")
	if t.In.Kind == session.SMS {
		foot = "\n" + keys // a message does without
	}
	type form struct{ top, since, lot, foot string }
	fit := func(forms []form, remedies, held []string) (form, int, int, bool) {
		for r := range remedies {
			for _, f := range forms {
				for h := range held {
					if text := ask.Joined(f.top, held[h], remedies[r], caution, missing, f.lot, f.since); t.Fits(text + f.foot) {
						return f, r, h, true
					}
				}
			}
		}
		return form{}, 0, 0, false
	}
	// What stands where the amount does not: nothing grows beyond it at another's cost.
	for _, f := range []form{{top, since, slip, foot}, {top, "", slip, more}, {plain, "", slip, more}} {
		if _, r, h, ok := fit([]form{f}, remedies, held); ok {
			remedies, tight = remedies[r:], tight[h:]
			break
		}
	}
	if lead := t.Memo().Lead; lead != "" {
		foot, more = foot+"\n"+lead, more+"\n"+lead
	}
	var onOne, onTwo []form
	for _, top := range tops {
		onOne, onTwo = append(onOne, form{top, since, lot, foot}), append(onTwo, form{top, "", lot, more})
	}
	for _, forms := range [][]form{append(onOne, onTwo...), {{plain, "", lot, more}}, {{plain, "", slip, more}}} {
		if f, r, h, ok := fit(forms, remedies, tight); ok {
			text := ask.Joined(f.top, tight[h], remedies[r], caution, missing, f.lot)
			if f.lot == slip {
				text = ask.Joined(text, ShortAmount(t, c.Lot))
			}
			return ask.Joined(text, since)
		}
	}
	why, remedy, amount := held[len(held)-1], remedies[len(remedies)-1], ShortAmount(t, c.Lot)
	if len(j.Result.Gates) > 0 && !WetByHand(&j.Result) && c.State == session.Filed {
		top, why = whoseLine(t, c)+t.Say("grade.gated", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete), "what", signs.Text(t, &c.Readings)), ""
		plain, missing = top, ask.Joined(missing, samplesLine(t, c))
	}
	said, warned := ask.Joined(why, remedy, caution), ask.Joined(why, remedy, firstSentence(caution))
	for _, first := range []string{top + " " + lot, plain + " " + lot} {
		if with := first + "."; t.Fits(ask.Joined(with, warned) + more) {
			return ask.Joined(with, said, missing, since)
		}
	}
	if with := plain + " " + slip + "."; t.Fits(ask.Joined(with, warned) + more) {
		return ask.Joined(with, said, amount, missing, since)
	}
	if caution != "" && t.Fits(ask.Joined(top, warned)+more) {
		return ask.Joined(top, said, missing, lot, since) // a caution is not put off for the slip
	}
	return ask.Joined(top+" "+slip+".", said, amount, missing, since)
}

// gradeTops are the first lines that a grade can have, the fullest first: with how
// sure it is, or shorter, which names the other grade where that is about as likely;
// and the plain one, for where nothing else fits.
func gradeTops(t *talk.Talk, c session.Check, r *grading.Result) (tops []string, plain string) {
	plain = whoseLine(t, c) + GradeLine(t, c)
	if c.State != session.Filed {
		plain += " " + t.Say("grade.state", "state", t.Say("mine."+string(c.State)))
		return []string{plain}, plain
	}
	sure := sureText(t, c, r)
	switch {
	case sure == "":
		return []string{plain}, plain
	case asLikely(&c, r):
		return []string{plain + " " + sure, plain + " " + t.Say("grade.or", "grade", otherGrade(t, r))}, plain
	}
	return []string{plain + " " + sure, plain}, plain
}

// aboutAsLikely is how much lower the chance of another grade may be for it
// still to be named; surely is the chance from which nothing is said unless the
// person asks. Source: our choice.
const aboutAsLikely, surely = 0.15, 8

// sureText says how sure a grade is, in the words that Why and the slip have, and
// the other grade where that is about as likely; "" where it is as good as sure, or
// only no better than.
func sureText(t *talk.Talk, c session.Check, r *grading.Result) string {
	line := t.HowSure(&c)
	switch {
	case line == "":
		return ""
	case asLikely(&c, r):
		return t.Say("why.sure_or", "tenths", talk.Tenths(c.Confidence), "grade", otherGrade(t, r))
	case talk.Tenths(c.Confidence) >= surely:
		return ""
	}
	return line
}

func asLikely(c *session.Check, r *grading.Result) bool {
	return r.Other != "" && r.OtherChance >= c.Confidence-aboutAsLikely
}

// otherGrade returns the likeliest grade other than the stated one.
func otherGrade(t *talk.Talk, r *grading.Result) string {
	rank := t.Programme.Standard.Rank(r.Other)
	if rank < 1 {
		rank = r.Of + 1
	}
	return phrase(t, r.Other, rank, r.Of)
}

// inFull says the amount behind the slip in words, where the page has room.
func inFull(t *talk.Talk, c session.Check, text, below string) string {
	slip := slipLine(t, &c)
	short, full := withAmount(slip, ShortAmount(t, c.Lot)), withAmount(slip, t.Amount(c.Lot))
	if with := strings.Replace(text, short, full, 1); t.Fits(with + below) {
		return with
	}
	return text
}

func slipLine(t *talk.Talk, c *session.Check) string {
	return t.Say("grade.slip", "slip", string(c.Slip))
}

func withAmount(slip, amount string) string {
	if amount == "" {
		return slip
	}
	return slip + ", " + amount
}

// ShortAmount is how much a lot is in the fewest letters: "8x75 kg"; "" where that is
// not known.
func ShortAmount(t *talk.Talk, lot session.Lot) string {
	switch {
	case lot.Bags > 0 && lot.BagKG > 0:
		return strconv.Itoa(lot.Bags) + "x" + t.Number(lot.BagKG) + " kg"
	case lot.Bags > 0:
		return t.Amount(lot)
	case lot.KG > 0:
		return t.Number(lot.KG.Round(0)) + " kg"
	}
	return ""
}

// whoseLine says before a grade whose lot it is, by number and first name, for
// a person who checks other people's lots.
func whoseLine(t *talk.Talk, c session.Check) string {
	p := t.PersonOf(c.Lot.Grower)
	name, _, _ := strings.Cut(p.Name, " ")
	if !ask.Agents(t) || p.ID == t.Person.ID || name == "" {
		return ""
	}
	if ask.UnderMe(t, p) && p.Short > 0 {
		name = strconv.Itoa(p.Short) + " " + name
	}
	return name + ": "
}

// GradeLine is a check's grade. If the table behind it is out of force, the
// line says so.
func GradeLine(t *talk.Talk, c session.Check) string {
	line := t.Say("grade.is", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete))
	if t.Programme.OutOfForce(&c) {
		line += " " + t.Say("grade.out_of_force")
	}
	return line
}

// firstSentence is what stands before the first full stop, with it.
func firstSentence(text string) string {
	first, _, more := strings.Cut(text, ". ")
	if more {
		first += "."
	}
	return first
}

// lackLine says what was not measured, which samples are missing, and what nobody
// looked at.
func lackLine(t *talk.Talk, c session.Check) string {
	return ask.Joined(MissingLine(t, c), samplesLine(t, c), t.Signs(&c))
}

// samplesLine says how many samples there are where the standard takes the mean of
// more.
func samplesLine(t *talk.Talk, c session.Check) string {
	given := 1
	if c.Pooled() {
		given = 2
	}
	s := t.Programme.Standard
	short, wants := s.ShortOfSamples(given)
	if len(short) == 0 || c.StandardID != s.ID || c.Edition != s.Edition {
		return ""
	}
	return t.Say("grade.samples", "count", given, "wants", wants)
}

// MissingLine says what was not measured.
func MissingLine(t *talk.Talk, c session.Check) string {
	if len(c.Missing) == 0 {
		return ""
	}
	return t.Say("grade.missing", "what", parameterNames(t, c.Missing))
}

// HeldBy says what holds the grade down, the fullest way first: a gate, or the
// deciding parameters with value and limit. At least one way is given; it is
// empty when there is nothing to say. If nothing stops the lot, what was found
// in it is named first. If there are too few samples, their number comes before
// everything else, so that one sample of three is never read as the whole.
func HeldBy(t *talk.Talk, c session.Check, j *programme.Judged) []string {
	ways := heldTight(t, c, j)
	return ways[:max(1, len(ways)-1)]
}

// heldTight are the ways of heldBy, and one more that has the figures alone.
func heldTight(t *talk.Talk, c session.Check, j *programme.Judged) []string {
	ways, samples := heldDown(t, c, j), samplesLine(t, c)
	if found := t.Found(&c); found != "" && (len(j.Result.Gates) == 0 || WetByHand(&j.Result)) {
		for i := range ways {
			ways[i] = ask.Joined(found, ways[i])
		}
	}
	for i := range ways {
		ways[i] = ask.Joined(samples, ways[i])
	}
	return ways
}

func heldDown(t *talk.Talk, c session.Check, j *programme.Judged) []string {
	r := &j.Result
	switch {
	case WetByHand(r):
		return []string{t.Say("grade.by_hand")}
	case len(r.Gates) > 0:
		return []string{t.Say("grade.gate", "what", signs.Text(t, &c.Readings))}
	case r.Rank == 1 && r.Complete && !c.Readings.Unlooked() && !c.Seen() && samplesLine(t, c) == "":
		return []string{t.Say("grade.best"), ""}
	case r.Rank == 1 || len(r.Deciding) == 0:
		return []string{""}
	}
	deciding := answeredFirst(r.Deciding, &j.Advice)
	p := r.Parameter(deciding[0])
	whole := heldLine(t, r, p, "")
	if p.Rank != r.Rank || whole == "" {
		return []string{""}
	}
	ways := []string{whole, heldLine(t, r, p, "_short")}
	tiny := heldLine(t, r, p, "_tiny") // begins with what it is about
	first, size := utf8.DecodeRuneInString(tiny)
	tiny = string(unicode.ToUpper(first)) + tiny[size:]
	if len(deciding) > 1 {
		also := t.Say("grade.also", "what", parameterNames(t, deciding[1:]))
		ways = []string{ask.Joined(whole, also), ask.Joined(ways[1], also), whole, ways[1]}
	}
	return append(ways, tiny)
}

// WetByHand reports whether a lot is stopped only because a test by hand found
// it too wet.
func WetByHand(r *grading.Result) bool { return slices.Equal(r.Gates, []string{grading.WetGate}) }

// answeredFirst sorts what holds the grade down: first what the remedy, or else
// a later step, can mend, so that problem and remedy are read together. If no
// remedy mends anything, what cannot be mended comes first.
func answeredFirst(deciding []grading.ParameterID, a *advice.Advice) []grading.ParameterID {
	at := -1
	for _, id := range append([]advice.RemedyID{a.Best.Remedy}, a.Set...) {
		if at < 0 {
			at = slices.Index(deciding, considered(a, id).Because.Parameter)
		}
	}
	if at < 0 {
		at = slices.IndexFunc(deciding, func(id grading.ParameterID) bool { return !mends(a, id) })
	}
	if at <= 0 {
		return deciding
	}
	return slices.Insert(slices.Delete(slices.Clone(deciding), at, at+1), 0, deciding[at])
}

func heldLine(t *talk.Talk, r *grading.Result, p *grading.ParameterResult, form string) string {
	key, limit, better := "grade.held", p.Next, betterLabel(t, p.Rank)
	if limit == nil {
		key, limit = "grade.out", p.Limit
	}
	if limit == nil {
		return ""
	}
	if form != "" {
		key = "grade.held" + form
	}
	if p.LimitIsMin {
		key += "_min"
	}
	return t.Say(key, "what", t.ParameterName(p.ID), "value", withUnit(t, p.Unit, p.Shown.Fixed(p.Decimals)),
		"grade", better, "limit", limitText(t, p, limit))
}

// limitText is a limit with its unit, and a sign before it when the limit
// itself is outside the grade.
func limitText(t *talk.Talk, p *grading.ParameterResult, limit *grading.Decimal) string {
	text := withUnit(t, p.Unit, limit.String())
	switch {
	case p.LimitOpen && p.LimitIsMin:
		return ">" + text
	case p.LimitOpen:
		return "<" + text
	}
	return text
}

// betterLabel is the grade above a rank, without the word "Grade".
func betterLabel(t *talk.Talk, rank int) string {
	labels := t.Programme.Standard.Grades
	if rank < 2 || len(labels) == 0 {
		return ""
	}
	return t.GradeWord(labels[min(rank-2, len(labels)-1)].Label)
}
