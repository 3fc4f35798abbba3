package answer

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// mostMoved is the most changed values that are named; those that held the
// grade down come first.
const mostMoved = 3

// sinceText says what changed between a re-check and the check before it, and
// what that earned; "" for other checks.
func sinceText(t *talk.Talk, c session.Check) string {
	return strings.TrimSpace(t.ClearedText(c) + " " + changedText(t, c))
}

func changedText(t *talk.Talk, c session.Check) string {
	if changed, unsound := t.Unsound(c); unsound {
		return t.Say("recheck.unsound", "slip", string(changed))
	}
	if before, once := t.HeldText(c); once != "" {
		return t.Say("recheck.once", "what", once, "slip", string(before), "stays", t.Stays(c.Held))
	}
	s, ok := t.Since(c)
	if !ok {
		return ""
	}
	return strings.TrimSpace(sampleText(t, &s, c) + " " + changeText(t, &s, c))
}

// sampleText says that a new sample was taken together with the one before, or
// why not.
func sampleText(t *talk.Talk, s *programme.Since, c session.Check) string {
	switch {
	case c.Pooled():
		return t.Say("recheck.together", "slip", string(s.Before.Slip))
	case s.Resampled:
		return t.Say("recheck.alone_"+string(s.Alone), "slip", string(s.Before.Slip))
	}
	return ""
}

// changeText says what changed.
func changeText(t *talk.Talk, s *programme.Since, c session.Check) string {
	if s.OtherTable {
		return t.Say("recheck.tables", "slip", string(s.Before.Slip))
	}
	if s.OtherProcedure {
		return t.Say("recheck.procedure", "slip", string(s.Before.Slip))
	}
	said := []string{graded(t, s.Before, c)}
	if earned := earnedText(t, &s.Change); earned != "" {
		said = append(said, earned)
	}
	for _, d := range s.Change.Doubts {
		said = append(said, t.Say("recheck."+string(d)))
	}
	if moves := movedText(t, s, c); moves != "" {
		said = append(said, moves)
	}
	return strings.Join(said, " ")
}

// graded says both grades, or that they are the same.
func graded(t *talk.Talk, before, after session.Check) string {
	was, is := gradeName(t, before), gradeName(t, after)
	if was == is {
		return t.Say("recheck.same", "grade", is)
	}
	return t.Say("recheck.graded", "before", was, "after", is)
}

// gradeName is a check's grade within a line or a sentence: "grade 2", "below
// grade", "no better than grade 2".
func gradeName(t *talk.Talk, c session.Check) string {
	if c.Rank > c.Of || c.Complete {
		return phrase(t, c.Grade, c.Rank, c.Of)
	}
	return lowered(t.GradeName(c.Grade, c.Rank, c.Of, false))
}

// phrase is a grade as it stands within a line: "grade 2", "below grade".
func phrase(t *talk.Talk, label grading.GradeLabel, rank, of int) string {
	if rank > of {
		return lowered(t.GradeWord(label))
	}
	return t.Say("recheck.grade", "grade", t.GradeWord(label))
}

// lowered writes the first letter of a word small, for use in a sentence.
// Abbreviations and single letters stay.
func lowered(word string) string {
	first, size := utf8.DecodeRuneInString(word)
	if next, _ := utf8.DecodeRuneInString(word[size:]); !unicode.IsLower(next) {
		return word
	}
	return string(unicode.ToLower(first)) + word[size:]
}

// movedText says which values have changed. It says so when a change is no
// larger than between two samples of one lot.
func movedText(t *talk.Talk, s *programme.Since, after session.Check) string {
	if !s.Judged || after.Pooled() {
		return ""
	}
	moisture := moistureMoved(t, s, &after)
	if len(s.Change.Moved) == 0 && moisture == "" {
		return t.Say("recheck.none")
	}
	moves := slices.Clone(s.Change.Moved)
	slices.SortStableFunc(moves, func(a, b advice.Moved) int { return place(s, after, a) - place(s, after, b) })
	var said []string
	if moisture != "" {
		said = append(said, moisture)
	}
	for _, m := range moves[:min(mostMoved, len(moves))] {
		p := t.Programme.Standard.Parameter(m.Parameter)
		if p == nil {
			continue
		}
		key := "recheck.moved"
		if !m.Clear && !given(&after.Readings, m.Parameter) {
			key = "recheck.moved_little"
		}
		value := func(d grading.Decimal) string { return withUnit(t, p.Unit, d.AtLeast(p.Decimals)) }
		said = append(said, t.Say(key, "what", t.ParameterName(m.Parameter), "before", value(m.Before), "after", value(m.After)))
	}
	return t.Say("recheck.values", "values", strings.Join(said, ", "))
}

// moistureMoved says how moisture moved by a table that has none of it: drying is
// asked for all the same. Half a point or less may be chance, as for doubts.
func moistureMoved(t *talk.Talk, s *programme.Since, after *session.Check) string {
	was, is := &s.Before.Readings, &after.Readings
	if advice.MoistureParameter(t.Programme.Standard) != nil || !was.Has(grading.Moisture) || !is.Has(grading.Moisture) {
		return ""
	}
	from, to := was.MeanMoisture().Round(1), is.MeanMoisture().Round(1)
	key := "recheck.moved"
	switch {
	case from == to:
		return ""
	case max(from-to, to-from) <= advice.DryingGuard:
		key = "recheck.moved_little"
	}
	percent := func(d grading.Decimal) string { return withUnit(t, grading.PercentWet, d.Fixed(1)) }
	return t.Say(key, "what", t.Say("field."+grading.Moisture.String()), "before", percent(from), "after", percent(to))
}

func given(r *grading.Readings, id grading.ParameterID) bool {
	_, ok := r.Values[id]
	return ok
}

// place puts first what held the grade down before, then what does now.
func place(s *programme.Since, after session.Check, m advice.Moved) int {
	switch {
	case slices.Contains(s.Before.Deciding, m.Parameter):
		return 0
	case slices.Contains(after.Deciding, m.Parameter):
		return 1
	}
	return 2
}

// earnedText says what the lot fetches more or less, about. It says nothing
// when it may be another lot, or when every change may be chance: the weight of
// a lot that was not weighed again would then be changed for no reason.
func earnedText(t *talk.Talk, ch *advice.Change) string {
	doubted := slices.ContainsFunc(ch.Doubts, func(d advice.Doubt) bool { return d != advice.Wetter })
	amount := roughly(ch.Earned)
	switch {
	case !ch.HasMoney || doubted || amount == 0 || byChance(ch):
		return ""
	case amount < 0:
		return t.Say("recheck.lost", "money", Priced(t, -amount))
	}
	return t.Say("recheck.earned", "money", Priced(t, amount))
}

func byChance(ch *advice.Change) bool {
	return ch.Steps == 0 && ch.Reckoned && !slices.ContainsFunc(ch.Moved, func(m advice.Moved) bool { return m.Clear })
}

// aboutTen is the amount from which money is rounded to tens: the lot's weight
// is not known better.
const aboutTen = 1000

func roughly(money grading.Decimal) grading.Decimal {
	if money > aboutTen*ask.Whole || money < -aboutTen*ask.Whole {
		return (money / 10).Round(0) * 10
	}
	return money.Round(0)
}
