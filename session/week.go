package session

import (
	"cmp"
	"strings"
	"time"

	"threshline/advice"
	"threshline/grading"
)

// WeekScreen tells a coordinator the week.
const WeekScreen ScreenID = "week"

// Weeks are a programme's weeks as they were reckoned last. It is never
// changed once it is handed in.
type Weeks struct {
	Running SevenDays // up to the day of the reckoning
	Whole   SevenDays // the last from Monday to Sunday
}

// SevenDays is seven days, by district; "" is all districts together. A district
// that is not in it had no check.
type SevenDays struct {
	Last      time.Time // the seventh day, where the programme is
	Districts map[string]Week
}

// Week is what seven days of a district come to.
type Week struct {
	Checks, Before int // filed in the seven days, and in the seven before
	InGrade        int // of Checks
	// Deciding holds down most grades, Held of the Checks; "" none does.
	Deciding grading.ParameterID
	Held     int
	// Remedy, done to all lots of the week at hand, would lift the most: Lifts
	// of Lots; "" when none would lift any.
	Remedy      advice.RemedyID
	Lifts, Lots int
	// Visits is how many lots of the week are in danger as they were checked
	// last; Newest are some of them, newest first.
	Visits int
	Newest []Slip
}

// weeks is what was handed in; nil while nothing is reckoned yet.
func (m *Machine) weeks() *Weeks {
	if m.Weeks == nil {
		return nil
	}
	return m.Weeks()
}

// WeekLines say the running week of a coordinator's district, or of all, or
// that it is not known yet.
func (t *Talk) WeekLines() []string {
	weeks := t.machine.weeks()
	if weeks == nil {
		return []string{t.Say("week.wait")}
	}
	return t.weekLines(&weeks.Running, true)
}

// weekLines say a week: one line when there was nothing.
func (t *Talk) weekLines(w *SevenDays, slips bool) []string {
	week := w.Districts[t.Person.District]
	place := cmp.Or(t.Person.District, t.Say("week.all"))
	said := []any{"place", place, "date", t.Programme.Words.Day(string(t.Lang()), w.Last), "count", week.Checks, "before", week.Before}
	if week.Checks == 0 {
		return []string{t.Say("week.none", said...)}
	}
	lines := []string{
		t.Say("week.checks", said...),
		t.Say("week.grade", "count", week.InGrade, "percent", (200*week.InGrade+week.Checks)/(2*week.Checks)),
	}
	if week.Deciding != "" {
		lines = append(lines, t.Say("week.held", "what", t.ParameterName(week.Deciding), "count", week.Held))
	}
	if week.Remedy != "" {
		target := advice.DryingTarget(t.Programme.Standard, "")
		do := t.Say("remedy."+string(week.Remedy)+".do", "target", t.Number(target.Round(1)))
		lines = append(lines, t.Say("week.lift", "do", do, "count", week.Lifts, "lots", week.Lots))
	}
	visit := t.Say("week.visit", "count", week.Visits)
	if slips && len(week.Newest) > 0 {
		visit = t.Say("week.visit_slips", "count", week.Visits, "slips", strings.Join(texts(week.Newest), " "))
	}
	return append(lines, visit)
}

func texts(slips []Slip) (out []string) {
	for _, s := range slips {
		out = append(out, string(s))
	}
	return out
}

// ParameterName is the programme's own word for a parameter, or else the
// standard's label.
func (t *Talk) ParameterName(id grading.ParameterID) string {
	if key := "parameter." + string(id); t.Knows(key) {
		return t.Say(key)
	}
	if p := t.Programme.Standard.Parameter(id); p != nil && p.Label != "" {
		return p.Label
	}
	return string(id)
}

// DigestKind is a coordinator's week by SMS, on Monday morning.
const DigestKind = "digest"

func digestID(of PersonID) ReminderID { return ReminderID("digest:" + string(of)) }

// getsDigest tells whether the person is to be sent the week unasked.
func (p *Person) getsDigest() bool { return p.Role == Coordinator && p.writable() && !p.NoDigest }

// Digests is a turn that sets the next digest of every coordinator who is to
// have one. It changes nothing for those who have it set, and so can run at
// any time after what was due at now has been worked off.
func (m *Machine) Digests(now time.Time) Turn {
	return func(v View) (Writes, error) {
		w := Writes{Reply: Reply{Silent: true}}
		people, err := v.Coordinators()
		for i := range people {
			if people[i].getsDigest() {
				w.Remindings = append(w.Remindings, digestOf(&people[i], nextMonday(now, m.Programme.Zone)))
			}
		}
		return w, err
	}
}

func digestOf(p *Person, due time.Time) Reminding {
	return Reminding{ID: digestID(p.ID), Due: due, Kind: DigestKind, Person: p.ID, Phone: p.Phone}
}

// memoDigest is the day of the digest that was set last: one that is due, but
// has not been sent yet, is left alone.
const memoDigest = "_digest"

// remindDigest sets a coordinator's next digest, unless it is known to be set.
func (t *Talk) remindDigest() {
	set := t.Memo(memoDigest)
	if !t.Person.getsDigest() || !t.agreed() || set != "" && set >= t.day(t.In.At) {
		return
	}
	t.setDigest()
}

func (t *Talk) setDigest() {
	due := t.nextMonday()
	t.Remember(memoDigest, t.day(due))
	t.writes.Remindings = append(t.writes.Remindings, digestOf(&t.Person, due))
}

// day is the civil day of a time where the programme is.
func (t *Talk) day(at time.Time) string {
	return at.In(cmp.Or(t.Programme.Zone, time.UTC)).Format(time.DateOnly)
}

// WantDigest has the week sent every Monday from now on, or never.
func (t *Talk) WantDigest(want bool) {
	p := t.Person
	p.NoDigest = !want
	t.Save(p)
	t.Remember(memoDigest, "")
	if !want {
		t.writes.Remindings = append(t.writes.Remindings, Reminding{ID: digestID(p.ID), Cancel: true})
	}
}

// digestAgain is how long a digest waits for figures that are not there yet.
const digestAgain = 5 * time.Minute

// digest sends the last whole week and sets the next one, also after a week
// without a check.
func (t *Talk) digest(r Reminding) {
	if !t.Person.getsDigest() {
		return
	}
	weeks := t.machine.weeks()
	if weeks == nil || t.day(weeks.Whole.Last) != t.day(t.nextMonday().AddDate(0, 0, -8)) {
		r.Due = t.In.At.Add(digestAgain)
		t.writes.Remindings = append(t.writes.Remindings, r)
		return
	}
	stop := t.Say("alert.stop")
	text := strings.Join(append(t.weekLines(&weeks.Whole, true), stop), " ")
	if brief := strings.Join(append(t.weekLines(&weeks.Whole, false), stop), " "); !t.Fits(text) && t.Fits(brief) {
		text = brief
	}
	t.send(text, Digest, "")
	t.setDigest()
}
