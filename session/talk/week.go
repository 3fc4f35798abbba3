package talk

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"threshline/advice"
	"threshline/session"
	"threshline/session/programme"
)

// WeekScreen tells a coordinator the week.
const WeekScreen session.ScreenID = "week"

// WeekKey is the week's number in the menu.
const WeekKey = "10"

// weeks returns the figures from outside; nil while nothing is reckoned yet.
func (m *Machine) weeks() *programme.Weeks {
	if m.Weeks == nil {
		return nil
	}
	return m.Weeks()
}

// WeekLines say the running week of a coordinator's district, or of all, or
// that it is not known yet.
func (t *Filing) WeekLines() []string {
	weeks := t.machine.weeks()
	if weeks == nil {
		return []string{t.Say("week.wait")}
	}
	lines := t.weekLines(t.Person.District, &weeks.Running, weekWhole)
	return append(lines, t.visitLines(weeks.Running.Districts[t.Person.District])...)
}

// visitLines say for each lot to visit whose it is, where it is and why.
func (t *Filing) visitLines(week programme.Week) (lines []string) {
	for _, slip := range week.Newest {
		c, ok := t.Check(slip)
		if !ok || c.State != session.Filed { // withdrawn or corrected meanwhile
			continue
		}
		var who []string
		for _, one := range [...]string{t.PersonOf(c.Lot.Grower).Name, c.Lot.Village, c.Lot.District} {
			if one != "" && (one != c.Lot.District || c.Lot.Village == "" || t.Person.District == "") && !slices.Contains(who, one) {
				who = append(who, one)
			}
		}
		lines = append(lines, t.Say("week.lot", "slip", string(slip), "who", strings.Join(who, ", "), "what", t.dangersText(&c, t.Programme.Dangers(&c))))
	}
	if more := week.Visits - len(week.Newest); more > 0 {
		lines = append(lines, t.Say("week.more", "count", more))
	}
	return lines
}

// How a week is said.
const (
	weekWhole = iota
	weekSlips // with the first slips to visit
	weekBrief // where there are checks by hand, with them in place of the week before, without percent
)

// weekLines say a week of a district: one line when there was nothing.
func (v *Voice) weekLines(district string, w *programme.SevenDays, how int) []string {
	week := w.Districts[district]
	place := cmp.Or(district, v.Say("week.all"))
	said := []any{"place", place, "date", v.Words.Day(string(v.Language), w.Last), "count", week.Checks, "before", week.Before, "hand", week.ByHand}
	brief, key := how == weekBrief && week.ByHand > 0, "week.checks"
	switch {
	case week.Checks == 0:
		key = "week.none"
	case brief:
		key = "week.checks_hand"
	}
	lines := []string{v.Say(key, said...)}
	if week.ByHand > 0 && key != "week.checks_hand" {
		lines = append(lines, v.Say("week.hand", "count", week.ByHand))
	}
	if week.Checks+week.ByHand == 0 {
		return lines
	}
	if week.Lots > 0 { // else each was checked again since the seven days
		grade := "week.grade"
		if brief {
			grade = "week.grade_brief"
		}
		lines = append(lines, v.Say(grade, "count", week.InGrade, "lots", week.Lots, "percent", (200*week.InGrade+week.Lots)/(2*week.Lots)))
	}
	if week.Older > 0 {
		lines = append(lines, v.Say("week.older", "count", week.Older))
	}
	if week.Deciding != "" {
		lines = append(lines, v.Say("week.held", "what", v.ParameterName(week.Deciding), "count", week.Held))
	}
	if week.Remedy != "" {
		target := advice.DryingTarget(v.Programme.Standard, "")
		do := v.Say("remedy."+string(week.Remedy)+".do", "target", v.Number(target.Round(1)))
		lines = append(lines, v.Say("week.lift", "do", do, "count", week.Lifts))
	}
	visit := v.Say("week.visit", "count", week.Visits)
	if how == weekSlips && len(week.Newest) > 0 {
		visit = v.Say("week.visit_slips", "count", week.Visits, "slips", strings.Join(texts(week.Newest[:min(mostInDigest, len(week.Newest))]), " "))
	}
	return append(lines, visit)
}

// mostInDigest is how many slips of lots to visit a digest names.
const mostInDigest = 3

func texts(slips []session.Slip) (out []string) {
	for _, s := range slips {
		out = append(out, string(s))
	}
	return out
}

// remindDigest sets the first digest of who is to have it from this message on. It
// leaves everybody else alone: a digest that is due may still wait for its figures.
func (t *Filing) remindDigest() {
	if !t.Person.GetsDigest() || !t.agreed() {
		return
	}
	before, err := t.view.Person(t.Person.ID)
	if t.fail(err); err != nil || !before.GetsDigest() {
		t.setDigest()
	}
}

func (t *Filing) setDigest() {
	t.remind(session.DigestOf(&t.Person, t.Programme.NextMonday(t.In.At)))
}

// day is the civil day of a time where the programme is.
func (t *Filing) day(at time.Time) string {
	return at.In(cmp.Or(t.Programme.Zone, time.UTC)).Format(time.DateOnly)
}

// WantDigest has the week sent every Monday from now on, or never.
func (t *Talk) WantDigest(want bool) {
	p := t.Person
	p.NoDigest = !want
	t.Save(p)
	if !want {
		t.cancel(session.DigestID(p.ID))
	}
}

// digestAgain is how long a digest waits for figures that are not there yet.
const digestAgain = 5 * time.Minute

// digest sends the last whole week and sets the next one, also after a week
// without a check.
func (t reminding) digest(r session.Reminder) {
	if !t.Person.GetsDigest() {
		return
	}
	weeks := t.machine.weeks()
	if weeks == nil || t.day(weeks.Whole.Last) != t.day(t.Programme.NextMonday(t.In.At).AddDate(0, 0, -8)) {
		r.Due = t.In.At.Add(digestAgain)
		t.remind(r)
		return
	}
	stop := t.Say("alert.stop")
	var texts []string // the fullest first
	for _, how := range [...]int{weekSlips, weekWhole, weekBrief} {
		texts = append(texts, strings.Join(append(t.weekLines(t.Person.District, &weeks.Whole, how), stop), " "))
	}
	text := texts[len(texts)-1]
	for _, most := range [...]int{t.In.Budget.Joined(2), t.In.Budget.Septets} {
		if i := slices.IndexFunc(texts, func(s string) bool { n, _ := t.In.Budget.Count(s); return n <= most }); i >= 0 {
			text = texts[i]
		}
	}
	t.send(text, session.Digest, "")
	t.setDigest()
}
