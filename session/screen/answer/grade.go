package answer

import (
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

const (
	GradeScreen  session.ScreenID = "grade"
	ChangeScreen session.ScreenID = "change" // which is not of this room
	todoScreen   session.ScreenID = "todo"
	whyScreen    session.ScreenID = "why"
)

// Screens are those of a check that was filed, and of what is looked up of others.
func Screens() []talk.Screen {
	return []talk.Screen{
		// The signs that nobody looked for. The figures stay, and nothing is praised yet.
		{ID: lookScreen, Show: showLook, Take: takeLook, Help: ask.Helpful("help.seen"), Waits: signsStillAwaited},
		{ID: lookSmellScreen, Show: ask.Saying("smell.ask", "smell.musty", "smell.off_odour"), Take: takeLookSmell, Help: ask.Helpful("help.seen")},

		{ID: GradeScreen, Show: showGrade, Take: takeGrade, Help: ask.Helpful("help.grade")},
		{ID: todoScreen, Show: showTodo, Take: takeFurther, Help: ask.Helpful("help.grade")},
		{ID: whyScreen, Show: showWhy, Take: takeFurther, Help: ask.Helpful("help.grade")},
		{ID: waysScreen, Show: showWays, Take: takeFurther, Help: ask.Helpful("help.ways")},

		{ID: MineScreen, Show: showMine, Take: takeMine, Help: ask.Helpful("help.slip")},
		{ID: talk.SlipScreen, Show: showSlip, Take: takeSlip, Help: ask.Helpful("help.slip"), Free: true}, // for anybody
		{ID: talk.WeekScreen, Show: showWeek, Take: ask.Nothing, Help: ask.Helpful("help.week")},
	}
}

// About is the check spoken of, judged by the standard as it stands.
func About(t *talk.Talk) (session.Check, programme.Judged, bool) {
	c, ok := t.Check(t.Memo().Slip)
	if !ok {
		return c, programme.Judged{}, false
	}
	judged, err := t.Judged(c)
	return c, judged, err == nil
}

// showGrade says the grade, what holds it down, the remedy, what the lot would
// become, and the slip. A safety caution stands on it in full.
func showGrade(t *talk.Talk) talk.Shown {
	c, j, ok := About(t)
	if !ok {
		return ask.Says(t.Say("mine.none"))
	}
	if HandOnly(&c, &j) {
		return showHand(t, c)
	}
	keys := t.Say("grade.how") + " " + t.Say("grade.why") + " " + t.Say("grade.change")
	text := gradeText(t, c, &j, keys)
	if sellable(t, c) {
		keys = withSell(t, text, keys)
	}
	foot := "\n" + keys
	if t.In.Kind != session.SMS {
		foot += "\n" + t.Say("foot.tiny")
	}
	if lead := t.Memo().Lead; lead != "" {
		foot += "\n" + lead
	}
	return stopping(&j, ask.Says(inFull(t, c, text, foot), keys))
}

// stopping marks an answer about a lot that people are kept from as one that no limit
// holds back.
func stopping(j *programme.Judged, shown talk.Shown) talk.Shown {
	shown.Safety = j.Advice.Best.Band == advice.SafetyBand && j.Advice.Best.Remedy != ""
	return shown
}

// withSell adds the key of the comparison when there is room for it. The key
// always works, and the next screen shows it.
func withSell(t *talk.Talk, text, keys string) string {
	foot, more := "\n"+t.Say("foot.tiny"), keys+" "+t.Say("grade.sell")
	if t.In.Kind == session.SMS {
		foot = ""
	}
	if t.Fits(text+"\n"+keys+foot) && !t.Fits(text+"\n"+more+foot) {
		return keys
	}
	return more
}

func takeGrade(t *talk.Talk, entry string) talk.Move {
	c, ok := t.Check(t.Memo().Slip)
	switch n, _ := ask.Choice(entry); {
	case n == 4 && ok && c.Readings.ByHand():
		return ask.WrongChoice(t)
	case n == 1:
		return talk.Go(todoScreen)
	case n == 2:
		return talk.Go(whyScreen)
	case n == 3:
		return talk.Go(ChangeScreen)
	case n == 4:
		return talk.Go(waysScreen)
	}
	if _, plain := signs.Keyed(entry); ok && !plain && c.Readings.Unlooked() && t.Correctable(c) {
		return takeLook(t, entry) // "OK", or what was found
	}
	return ask.WrongChoice(t)
}

// takeFurther takes the grade's own choices on the screens behind it too.
func takeFurther(t *talk.Talk, entry string) talk.Move {
	if n, _ := ask.Choice(entry); n < 1 || n > 4 {
		return ask.Nothing(t, entry)
	}
	return takeGrade(t, entry)
}

// showTodo says how to do the remedy, its cautions first.
func showTodo(t *talk.Talk) talk.Shown {
	c, j, ok := About(t)
	best := j.Advice.Best
	if ok && HandOnly(&c, &j) {
		return handTodo(t, c)
	}
	if !ok || best.Remedy == "" {
		return ask.Says(t.Say("grade.best"))
	}
	lines := []string{doText(t, best)}
	if WetByHand(&j.Result) && best.Band == advice.SpoilBand { // who has no meter cannot stop by one
		lines[0] = strings.Join(append(Warnings(t, best.Cautions), t.Say("test.spread"), t.Say("test.until", "target", t.Number(best.Target.Round(1)))), " ")
	}
	for i, id := range j.Advice.Set[1:] {
		lines = append(lines, t.Say("grade.step", "number", i+2, "steps", j.Advice.Steps, "do", remedyText(t, considered(&j.Advice, id)), "because", ""))
	}
	if grade := j.Advice.SetBecomes; j.Advice.Steps > 1 && betters(t, t.Programme.Standard.Rank(grade)) {
		lines = append(lines, t.Say("grade.after", "steps", j.Advice.Steps, "grade", thenGrade(t, &j.Advice))+earnsLine(t, &j.Advice))
	}
	if id := j.Advice.Season; id != "" && id != best.Remedy {
		lines = append(lines, t.Say("grade.season", "do", t.Say("remedy."+string(id)+".do")))
	}
	shown := ask.Says(strings.Join(lines, " "))
	if sellable(t, c) {
		shown.Options = []string{t.Say("grade.sell")}
	}
	return stopping(&j, shown)
}

// showWhy says every parameter with its value, limit and own grade.
func showWhy(t *talk.Talk) talk.Shown {
	c, j, ok := About(t)
	if !ok {
		return ask.Says(t.Say("mine.none"))
	}
	if HandOnly(&c, &j) {
		return handWhy(t, c)
	}
	var lines []string
	gated := len(j.Result.Gates) > 0
	if gated { // what stops the lot comes before what it would be without
		lines = append(lines, t.Say("grade.gate", "what", signs.Text(t, &c.Readings)))
		if before, held := t.HeldText(c); held != "" {
			lines = append(lines, t.Say("recheck.once", "what", held, "slip", string(before), "stays", t.Stays(c.Held)))
		}
	}
	for _, p := range j.Result.Parameters {
		if !p.Measured || p.Unit == grading.Word {
			continue
		}
		key, limit := "why.line", ""
		if p.Limit != nil {
			key, limit = "why.line_limit", limitText(t, &p, p.Limit)
		}
		lines = append(lines, t.Say(key, "what", t.ParameterName(p.ID), "value", withUnit(t, p.Unit, p.Shown.Fixed(p.Decimals)),
			"limit", limit, "grade", phrase(t, p.Grade, p.Rank, j.Result.Of)))
	}
	if sure := t.HowSure(&c); sure != "" {
		lines = append(lines, sure)
		if r := &j.Result; asLikely(&c, r) {
			key := "why.as_likely"
			if r.Likelier != "" {
				key = "why.likelier"
			}
			lines = append(lines, t.Say(key, "grade", otherGrade(t, r), "tenths", talk.Tenths(r.OtherChance)))
		}
	}
	switch {
	case len(lines) == 0: // nothing was measured
		lines = append(lines, MissingLine(t, c))
	case !gated:
		lines = append([]string{t.Found(&c)}, lines...)
	}
	return stopping(&j, ask.Says(ask.Joined(append(lines, settleLine(t, j.Result.Settle), t.Say("why.estimate"))...)))
}

func settleLine(t *talk.Talk, s *grading.Settle) string {
	switch {
	case s == nil:
		return ""
	case s.Grains > 0:
		return t.Say("why.settle", "what", t.Say("why.settle_grains", "count", s.Grains))
	case s.CheckMeter:
		return t.Say("why.settle", "what", t.Say("why.settle_meter"))
	case s.Repeats > 0:
		return t.Say("why.settle", "what", t.Say("why.settle_repeats", "count", s.Repeats))
	case s.Grams > 0:
		return t.Say("why.settle", "what", t.Say("why.settle_grams", "count", t.Number(s.Grams.Round(0))))
	}
	return ""
}

func parameterNames(t *talk.Talk, ids []grading.ParameterID) string {
	var out []string
	for _, id := range ids {
		out = append(out, t.ParameterName(id))
	}
	return strings.Join(out, ", ")
}

// withUnit writes a value with its unit, as short as can be.
func withUnit(t *talk.Talk, u grading.Unit, plain string) string {
	value := t.Words.Number(string(t.Language), plain)
	unit := ""
	switch u {
	case grading.PercentWeight, grading.PercentCount, grading.PercentWet:
		return value + t.Say("unit.percent")
	case grading.CountPer500g:
		unit = t.Say("unit.per_500g")
	case grading.CountPerKg:
		unit = t.Say("unit.per_kg")
	case grading.MicrogramKg:
		unit = t.Say("unit.ug_kg")
	case grading.Millimetre:
		unit = t.Say("unit.mm")
	}
	return strings.TrimSpace(value + " " + unit)
}
