package answer

import (
	"math"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// HandOnly reports whether a check is by hand and no sign stops its lot: likely
// grades are said of it, never one.
func HandOnly(c *session.Check, j *programme.Judged) bool {
	return c.Readings.ByHand() && (len(j.Result.Gates) == 0 || WetByHand(&j.Result))
}

// LikelyText says which grades a lot counted by hand likely has, and how likely.
// One grade alone is never said: the next likely one stands beside it.
func LikelyText(t *talk.Talk, j *programme.HandJudged) string {
	if j.Likely.Few {
		return likelyText(t, j) + " " + t.Say("hand.few")
	}
	return likelyText(t, j)
}

func likelyText(t *talk.Talk, j *programme.HandJudged) string {
	l := &j.Likely
	of := len(t.Programme.Standard.Grades)
	if l.From == 1 && l.To == of+1 {
		return t.Say("hand.open")
	}
	form, withNext := "hand.lead", "hand.lead_else"
	if l.IfDry {
		form, withNext = "hand.once_dry", "hand.once_dry_else"
	}
	tenths := max(1, talk.Tenths(l.Chance))
	best := func(grades string) string { // where the standard wants what neither hands nor other lots say
		if len(l.Missing) > 0 {
			return t.Say("grade.at_best", "grade", grades)
		}
		return grades
	}
	if l.From < l.To {
		grades := t.Say(map[bool]string{true: "hand.or", false: "hand.to"}[l.To == l.From+1],
			"one", rankText(t, l.From), "other", rankWord(t, l.To))
		return t.Say(form, "grades", best(grades), "tenths", tenths)
	}
	chances := l.Chances
	if l.IfDry {
		chances = l.OnceDry
	}
	next := 0
	for i, c := range chances {
		if i+1 != l.From && (next == 0 || c > chances[next-1]) {
			next = i + 1
		}
	}
	return t.Say(withNext, "grades", best(rankText(t, l.From)), "tenths", tenths, "other", rankText(t, next))
}

// rankText is a rank in a sentence, "grade 2" or "out of grade"; rankWord leaves the
// word "grade" out.
func rankText(t *talk.Talk, rank int) string {
	return phrase(t, rankLabel(t, rank), rank, len(t.Programme.Standard.Grades))
}

func rankWord(t *talk.Talk, rank int) string {
	word := t.GradeWord(rankLabel(t, rank))
	if rank > len(t.Programme.Standard.Grades) {
		return lowered(word)
	}
	return word
}

func rankLabel(t *talk.Talk, rank int) grading.GradeLabel {
	s := t.Programme.Standard
	if rank > len(s.Grades) {
		return s.OutOfGrade
	}
	return s.Grades[rank-1].Label
}

// HandRemedy says the one remedy most worth doing and what it would change, the
// fullest way first.
func HandRemedy(t *talk.Talk, j *programme.HandJudged) []string {
	best := j.Advice.Best
	switch {
	case tries(j):
		return tryTexts(t, &j.Advice.Try)
	case best.Remedy == "" && j.Likely.From == 1 && husked(j):
		return []string{t.Say("hand.good"), ""}
	case best.Remedy == "":
		return []string{t.Say("hand.unsure"), ""}
	case best.When == advice.NextSeason:
		return []string{t.Say("grade.season", "do", t.Say("remedy."+string(best.Remedy)+".do"))}
	}
	do := t.Say("remedy."+string(best.Remedy)+".do", "target", t.Number(best.Target.Round(1)))
	plain := t.Say("grade.do", "do", do, "because", "")
	if j.Advice.Better == "" {
		return []string{plain}
	}
	tenths := max(1, talk.Tenths(j.Advice.Chance))
	return []string{t.Say("hand.better", "do", do, "grade", t.GradeWord(j.Advice.Better), "tenths", tenths), plain}
}

// tries reports whether something is said to try on a little of the lot.
func tries(j *programme.HandJudged) bool { return j.Advice.Try.Remedy != "" }

// tryTexts say what to try on a little of the lot, how likely its remedy helps, and
// in the fuller way when to do it to the whole.
func tryTexts(t *talk.Talk, try *advice.Trial) []string {
	key := "remedy." + string(try.Remedy)
	short := t.Say("hand.try", "try", t.Say(key+".try"), "tenths", max(1, talk.Tenths(try.Useful)))
	return []string{short + " " + t.Say(key+".if", "target", t.Number(try.Over.Round(1))), short}
}

// husked reports whether grains were husked by hand: of red, bored and stained ones
// nothing is known else.
func husked(j *programme.HandJudged) bool {
	return slices.ContainsFunc(j.Likely.Counts, func(c byhand.Count) bool { return c.Field == grading.Red })
}

// kitLine says who has the tools: the nearest agent who agreed to be named, or the
// programme's words for where to go.
func kitLine(t *talk.Talk, c *session.Check) string {
	if ask.Agents(t) {
		return ""
	}
	if agent, ok := t.KitAgent(c.Lot); ok && agent.ID != t.Person.ID {
		return t.Say("hand.kit", "name", agent.Name, "phone", string(agent.Phone))
	}
	if where := t.Programme.KitAt; where != "" {
		return t.Say("hand.kit_at", "where", where)
	}
	return ""
}

// HandWet says that the lot was found too wet, by hand or by a meter; "" if not.
func HandWet(t *talk.Talk, c *session.Check, j *programme.HandJudged) string {
	switch {
	case c.Readings.WetByHand() != "":
		return t.Say("hand.wet")
	case j.Advice.Wet:
		return t.GradeWord(grading.WetLot) + "."
	}
	return ""
}

// showHand shows a filed check by hand.
func showHand(t *talk.Talk, c session.Check) talk.Shown {
	keys := t.Say("grade.how") + " " + t.Say("grade.why") + " " + t.Say("grade.change")
	foot := "\n" + keys
	if t.In.Kind != session.SMS {
		foot += "\n" + t.Say("foot.tiny")
	}
	if lead := t.Memo().Lead; lead != "" {
		foot += "\n" + lead
	}
	return ask.Says(handPage(t, c, foot), keys)
}

// handPage fills one page above foot with the answer. The amount gets shorter
// first; then who has the tools goes on to the next page, and then the remedy is short.
func handPage(t *talk.Talk, c session.Check, foot string) string {
	j, ok := t.JudgedHand(c)
	slip := slipLine(t, &c)
	if !ok {
		return ask.Joined(whoseLine(t, c)+t.Say("hand.open"), slip)
	}
	first := whoseLine(t, c) + LikelyText(t, &j)
	if c.State != session.Filed {
		first += " " + t.Say("grade.state", "state", t.Say("mine."+string(c.State)))
	}
	wet, signs, kit := HandWet(t, &c, &j), ask.Joined(t.Found(&c), t.Signs(&c)), kitLine(t, &c)
	lots := []string{withAmount(slip, t.Amount(c.Lot)), withAmount(slip, ShortAmount(t, c.Lot))}
	if c.Lot.KG == 0 && c.Lot.Bags == 0 {
		lots = []string{slip}
	}
	remedies := HandRemedy(t, &j)
	if tries(&j) {
		lots = append(lots, slip)
	} else if wet != "" { // drying is said already
		remedies = []string{""}
	}
	fit := func(remedies []string, kit, foot string) (string, bool) {
		for _, remedy := range remedies {
			for _, lot := range lots {
				if text := ask.Joined(wet, first, signs, remedy, kit, lot); t.Fits(text + foot) {
					return text, true
				}
			}
		}
		return "", false
	}
	if text, ok := fit(remedies[:1], kit, foot); ok {
		return text
	}
	more := "\n" + t.Say("foot.more")
	if text, ok := fit(remedies[:1], "", more); ok {
		return ask.Joined(text, kit)
	}
	if text, ok := fit(remedies, kit, foot); ok {
		return text
	}
	if tries(&j) { // whose second sentence belongs to the first
		return ask.Joined(wet, first, signs, remedies[0], lots[0], kit)
	}
	return ask.Joined(wet, first, signs, slip, remedies[0], kit, lots[len(lots)-1])
}

// handLook asks, of a check by hand just filed, for the signs that nobody looked for.
func handLook(t *talk.Talk, c session.Check) talk.Shown {
	foot := ""
	if t.In.Kind != session.SMS {
		foot = "\n" + t.Say("foot.tiny")
	}
	if lead := t.Memo().Lead; lead != "" {
		foot += "\n" + lead
	}
	j, ok := t.JudgedHand(c)
	slip := slipLine(t, &c)
	first := whoseLine(t, c) + t.Say("hand.open")
	remedies := []string{""}
	if ok {
		first, remedies = whoseLine(t, c)+LikelyText(t, &j), HandRemedy(t, &j)
	}
	if c.Readings.WetByHand() != "" || ok && (j.Advice.Best.Remedy == "" || j.Advice.Best.Remedy == advice.LookFirst) { // nothing is praised, and looking is asked
		remedies = []string{""}
	}
	lots := []string{withAmount(slip, ShortAmount(t, c.Lot)), slip}
	for _, question := range []string{t.Say("look.ask"), t.Say("look.short"), t.Say("look.brief")} {
		for _, remedy := range remedies {
			for _, lot := range lots {
				if text := ask.Joined(HandWet(t, &c, &j), first, t.Found(&c), remedy, lot, question); t.Fits(text + foot) {
					return ask.Says(text)
				}
			}
		}
	}
	return ask.Says(ask.Joined(HandWet(t, &c, &j), first, t.Found(&c), slip, t.Say("look.brief")))
}

// handTodo says how to do the remedy, its cautions first.
func handTodo(t *talk.Talk, c session.Check) talk.Shown {
	j, ok := t.JudgedHand(c)
	best := j.Advice.Best
	switch unproven := unproven(t, &c, &j); {
	case ok && best.Remedy == "" && tries(&j):
		return ask.Says(ask.Joined(HandRemedy(t, &j)[0], unproven, kitLine(t, &c), doText(t, j.Advice.Try.Option)))
	case !ok || best.Remedy == "":
		return ask.Says(ask.Joined(HandRemedy(t, &j)[0], unproven, kitLine(t, &c)))
	case c.Readings.WetByHand() != "" && best.Band == advice.SpoilBand:
		lines := append(Warnings(t, best.Cautions), t.Say("test.spread"), t.Say("test.until", "target", t.Number(best.Target.Round(1))))
		if tries(&j) {
			lines = append(lines, HandRemedy(t, &j)[0])
		}
		return ask.Says(strings.Join(lines, " "))
	}
	return ask.Says(doText(t, best))
}

// unproven says that nobody measured the lot's water, unless that is what is tried.
func unproven(t *talk.Talk, c *session.Check, j *programme.HandJudged) string {
	if rem := advice.RemedyOf(j.Advice.Try.Remedy); c.Readings.Has(grading.Moisture) || rem != nil && rem.Dries {
		return ""
	}
	return t.Say("test.unproven") + " " + t.Say("test.measure")
}

// handWhy says every share with its doubt: what two of three such lots hold.
func handWhy(t *talk.Talk, c session.Check) talk.Shown {
	j, ok := t.JudgedHand(c)
	if !ok {
		return ask.Says(t.Say("hand.open"))
	}
	var lines []string
	for _, s := range j.Likely.Shares {
		p := t.Programme.Standard.Parameter(s.Parameter)
		if p == nil || !s.Counted {
			continue
		}
		lines = append(lines, t.Say("hand.why", "what", t.ParameterName(s.Parameter),
			"low", shareText(t, max(0, s.Mean-s.Deviation), p), "high", shareText(t, s.Mean+s.Deviation, p)))
	}
	if missing := j.Likely.Missing; len(missing) > 0 {
		lines = append(lines, t.Say("grade.missing", "what", parameterNames(t, missing)))
	}
	lines = append(lines, t.Say("hand.estimate"), kitLine(t, &c))
	return ask.Says(ask.Joined(slices.Concat([]string{t.Found(&c)}, lines)...))
}

func shareText(t *talk.Talk, v float64, p *grading.Parameter) string {
	return t.Words.Number(string(t.Language), grading.Decimal(math.Round(v*float64(ask.Whole))).Round(min(1, p.Decimals)).String())
}
