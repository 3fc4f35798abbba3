package screen

import (
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

const (
	gradeScreen session.ScreenID = "grade"
	todoScreen  session.ScreenID = "todo"
	whyScreen   session.ScreenID = "why"
)

// memoSlip is the check that the screens about one check speak of.
const memoSlip = "slip"

func grade() []session.Screen {
	return []session.Screen{
		{ID: gradeScreen, Show: showGrade, Take: takeGrade, Help: helpful("help.grade")},
		{ID: todoScreen, Show: showTodo, Take: takeNothing, Help: helpful("help.grade")},
		{ID: whyScreen, Show: showWhy, Take: takeNothing, Help: helpful("help.grade")},
	}
}

// about is the check spoken of, judged by the standard as it stands.
func about(t *session.Talk) (session.Check, session.Judged, bool) {
	c, ok := t.Check(session.Slip(t.Memo(memoSlip)))
	if !ok {
		return c, session.Judged{}, false
	}
	judged, err := t.JudgeCheck(c)
	return c, judged, err == nil
}

// showGrade says the grade, what holds it down, the remedy, what the lot would
// become, and the slip. A safety caution stands on it in full. What else holds
// the grade down is said where there is room, else under "why".
func showGrade(t *session.Talk) session.Shown {
	c, j, ok := about(t)
	if !ok {
		return says(t.Say("mine.none"))
	}
	top := t.Say("grade.is", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete))
	if j.Result.Borderline {
		top += " " + t.Say("grade.close")
	}
	if c.State != session.Filed {
		top += " " + t.Say("grade.state", "state", t.Say("mine."+string(c.State)))
	}
	keys := t.Say("grade.how") + " " + t.Say("grade.why") + " " + t.Say("grade.mend")
	slip := t.Say("grade.slip", "slip", string(c.Slip))
	held := heldBy(t, c, &j.Result)
	tail := []string{remedyLine(t, &j.Advice), safetyLine(t, &j.Advice)}
	if len(c.Missing) > 0 {
		tail = append(tail, t.Say("grade.missing", "what", parameterNames(t, c.Missing)))
	}
	for n := len(held); ; n-- {
		lines := slices.Concat([]string{top}, held[:n], tail, []string{slip})
		lines = slices.DeleteFunc(lines, func(s string) bool { return s == "" })
		text := strings.Join(lines, "\n")
		if n <= 1 || t.Fits(text+"\n"+keys+"\n"+t.Say("foot.tiny")) {
			shown := says(text, keys)
			shown.Safety = j.Advice.Best.Band == advice.SafetyBand && j.Advice.Best.Remedy != ""
			return shown
		}
	}
}

func takeGrade(t *session.Talk, entry string) session.Move {
	switch n, _ := choice(entry); n {
	case 1:
		return session.Go(todoScreen)
	case 2:
		return session.Go(whyScreen)
	case 3:
		return session.Go(mendScreen)
	}
	return wrongChoice(t)
}

func takeNothing(t *session.Talk, _ string) session.Move { return wrongChoice(t) }

// heldBy says what holds the grade down: a gate, or the deciding parameters
// with value and limit.
func heldBy(t *session.Talk, c session.Check, r *grading.Result) []string {
	if len(r.Gates) > 0 {
		return []string{t.Say("grade.gate", "what", signText(t, &c.Readings))}
	}
	if r.Rank == 1 && r.Complete {
		return []string{t.Say("grade.best")}
	}
	if r.Rank == 1 || len(r.Deciding) == 0 {
		return nil
	}
	p := r.Parameter(r.Deciding[0])
	lines := []string{heldLine(t, r, p)}
	if p.Rank != r.Rank || lines[0] == "" {
		return nil
	}
	if len(r.Deciding) > 1 {
		lines = append(lines, t.Say("grade.also", "what", parameterNames(t, r.Deciding[1:])))
	}
	return lines
}

func heldLine(t *session.Talk, r *grading.Result, p *grading.ParameterResult) string {
	key, limit, better := "grade.held", p.Next, betterLabel(t, p.Rank)
	if limit == nil {
		key, limit = "grade.out", p.Limit
	}
	if limit == nil {
		return ""
	}
	if p.LimitIsMin {
		key += "_min"
	}
	return t.Say(key, "what", parameterName(t, p.ID), "value", withUnit(t, p.Unit, p.Shown.Fixed(p.Decimals)),
		"grade", better, "limit", withUnit(t, p.Unit, limit.String()))
}

// betterLabel is the grade above a rank, without the word "Grade".
func betterLabel(t *session.Talk, rank int) string {
	labels := t.Programme.Standard.Grades
	if rank < 2 || len(labels) == 0 {
		return ""
	}
	return t.GradeWord(labels[min(rank-2, len(labels)-1)].Label)
}

// remedyLine says the one remedy and what the lot would become.
func remedyLine(t *session.Talk, a *advice.Advice) string {
	best := a.Best
	if best.Remedy == "" {
		return ""
	}
	do, because := remedyText(t, best), becauseText(t, best)
	rank := t.Programme.Standard.Rank(a.SetBecomes)
	switch {
	case best.When == advice.NextSeason:
		return t.Say("grade.season", "do", do)
	case a.Steps > 1 && betters(t, rank):
		return t.Say("grade.step", "steps", a.Steps, "do", do, "because", because, "grade", t.GradeWord(a.SetBecomes))
	case a.Steps > 1:
		return t.Say("grade.step_only", "steps", a.Steps, "do", do, "because", because)
	case betters(t, best.BecomesRank):
		return t.Say("grade.becomes", "do", do, "because", because, "grade", t.GradeWord(best.Becomes))
	}
	return t.Say("grade.do", "do", do, "because", because)
}

// becauseText names what the remedy answers where that is not what holds the
// grade down.
func becauseText(t *session.Talk, o advice.Option) string {
	c, ok := t.Check(session.Slip(t.Memo(memoSlip)))
	id := o.Because.Parameter
	acts := o.Band >= advice.SpoilBand && o.Band <= advice.MeasureBand
	if !ok || !acts || id == "" || slices.Contains(c.Deciding, id) || o.Because.Gate != "" || len(c.Gates) > 0 {
		return ""
	}
	p := t.Programme.Standard.Parameter(id)
	if p == nil || o.When == advice.NextSeason {
		return ""
	}
	return t.Say("grade.because", "what", parameterName(t, id), "value", withUnit(t, p.Unit, o.Because.Value.Fixed(p.Decimals)))
}

// betters tells whether a rank is better than the check's own.
func betters(t *session.Talk, rank int) bool {
	c, ok := t.Check(session.Slip(t.Memo(memoSlip)))
	return ok && rank > 0 && rank < c.Rank
}

func remedyText(t *session.Talk, o advice.Option) string {
	return t.Say("remedy."+string(o.Remedy)+".do", "target", t.Number(o.Target.Round(1)))
}

// safety are the cautions that stand on the grade screen itself, when what to
// do is urgent; all others stand first in how to do it.
var safety = []advice.CautionID{advice.NotEaten, advice.NotFood, advice.NoFumigant}

func safetyLine(t *session.Talk, a *advice.Advice) string {
	var out []string
	if a.Best.Band > advice.SpoilBand {
		return ""
	}
	for _, id := range a.Best.Cautions {
		if slices.Contains(safety, id) {
			out = append(out, t.Say("caution."+string(id)))
		}
	}
	return strings.Join(out, " ")
}

// showTodo says how to do the remedy, its cautions first.
func showTodo(t *session.Talk) session.Shown {
	_, j, ok := about(t)
	best := j.Advice.Best
	if !ok || best.Remedy == "" {
		return says(t.Say("grade.best"))
	}
	var lines []string
	for _, id := range best.Cautions {
		lines = append(lines, t.Say("caution."+string(id)))
	}
	lines = append(lines, t.Say("remedy."+string(best.Remedy)+".how", "target", t.Number(best.Target.Round(1))))
	if id := j.Advice.Season; id != "" && id != best.Remedy {
		lines = append(lines, t.Say("grade.season", "do", t.Say("remedy."+string(id)+".do")))
	}
	return says(strings.Join(lines, " "))
}

// showWhy says every parameter with its value, limit and own grade.
func showWhy(t *session.Talk) session.Shown {
	c, j, ok := about(t)
	if !ok {
		return says(t.Say("mine.none"))
	}
	var lines []string
	for _, p := range j.Result.Parameters {
		if !p.Measured || p.Unit == grading.Word {
			continue
		}
		key, limit := "why.line", ""
		if p.Limit != nil {
			key, limit = "why.line_limit", withUnit(t, p.Unit, p.Limit.String())
		}
		lines = append(lines, t.Say(key, "what", parameterName(t, p.ID), "value", withUnit(t, p.Unit, p.Shown.Fixed(p.Decimals)),
			"limit", limit, "grade", t.GradeWord(p.Grade)))
	}
	if c.Complete && c.Confidence > 0 {
		lines = append(lines, t.Say("why.sure", "tenths", min(9, int(c.Confidence*10+0.5))))
	}
	return says(strings.Join(append(lines, settleLine(t, j.Result.Settle), t.Say("why.estimate")), "\n"))
}

func settleLine(t *session.Talk, s *grading.Settle) string {
	switch {
	case s == nil:
		return ""
	case s.Kernels > 0:
		return t.Say("why.settle", "what", t.Say("why.settle_kernels", "count", s.Kernels))
	case s.Repeats > 0:
		return t.Say("why.settle", "what", t.Say("why.settle_repeats", "count", s.Repeats))
	case s.Grams > 0:
		return t.Say("why.settle", "what", t.Say("why.settle_grams", "count", t.Number(s.Grams.Round(0))))
	}
	return ""
}

// parameterName is the programme's own word, or else the standard's label.
func parameterName(t *session.Talk, id grading.ParameterID) string {
	if key := "parameter." + string(id); t.Knows(key) {
		return t.Say(key)
	}
	if p := t.Programme.Standard.Parameter(id); p != nil && p.Label != "" {
		return p.Label
	}
	return string(id)
}

func parameterNames(t *session.Talk, ids []grading.ParameterID) string {
	var out []string
	for _, id := range ids {
		out = append(out, parameterName(t, id))
	}
	return strings.Join(out, ", ")
}

// withUnit writes a value with its unit, as short as can be.
func withUnit(t *session.Talk, u grading.Unit, plain string) string {
	value := t.Programme.Words.Number(string(t.Lang()), plain)
	unit := ""
	switch u {
	case grading.PercentMass, grading.PercentCount, grading.PercentWet:
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
