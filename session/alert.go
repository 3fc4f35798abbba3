package session

import (
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
)

// Danger is a reason for somebody of the programme to go and see a lot.
type Danger string

// The dangers, the worst first. The first four are what was seen or smelt.
const (
	TreatedSeed Danger = Danger(grading.TreatedSeed)
	Mouldy      Danger = Danger(grading.Mouldy)
	Musty       Danger = Danger(grading.Musty)
	Heating     Danger = Danger(grading.Heating)
	Insects     Danger = "insects" // a live one is enough
	Wet         Danger = "wet"     // above WetAbove
)

// WetAbove is the moisture, % wet basis, exclusive, above which a lot is told
// to the coordinators. Source: as advice.MicrobesAbove.
const WetAbove = advice.MicrobesAbove

// Dangers are those of a check's readings, the worst first. Moisture is the
// mean of the readings, rounded as the standard in force rounds it, or to
// tenths, as meters show, where it has none.
func (p *Programme) Dangers(c *Check) (found []Danger) {
	for _, seen := range [...]Danger{TreatedSeed, Mouldy, Musty, Heating} {
		if slices.Contains(c.Readings.Flags, grading.Flag(seen)) {
			found = append(found, seen)
		}
	}
	if c.infested() {
		found = append(found, Insects)
	}
	if value, ok := p.moisture(c); ok && value > WetAbove {
		found = append(found, Wet)
	}
	return found
}

// moisture is a check's moisture, % wet basis, as the standard in force rounds it.
func (p *Programme) moisture(c *Check) (value grading.Decimal, measured bool) {
	decimals := 1
	if m := advice.MoistureParameter(p.Standard); m != nil {
		decimals = m.Decimals
		if given, ok := c.Readings.Values[m.ID]; ok {
			return given.Round(decimals), true
		}
	}
	return c.Readings.MeanMoisture().Round(decimals), c.Readings.Has(grading.Moisture)
}

// alert tells the coordinators of a check that was just filed what of it needs
// a visit. One that corrects another is told only for what is new in it, and
// when nothing is left of what was told that is said too. A re-check is told
// again as long as there is any danger: as still there, unless it is new; and
// once when it is gone.
func (t *Talk) alert(c, corrected, before Check) {
	now, told, then := t.Programme.Dangers(&c), t.dangersOf(corrected), t.dangersOf(before)
	if _, poison := t.Poisoned(c); len(poison) > 0 && corrected.Slip == "" {
		t.tell(c, "alert.gone", poison)
	}
	switch {
	case len(now) == 0 && corrected.Slip == "":
		if _, poison := t.Poisoned(c); len(then) > 0 && len(poison) == 0 {
			t.tell(c, "alert.over", nil, "before", string(before.Slip))
		}
	case len(now) == 0:
		t.takeBack(corrected, c.Slip)
	case corrected.Slip != "" && within(now, told):
	case within(now, then):
		t.tell(c, "alert.still", now)
	default:
		t.tell(c, "alert.lot", now)
	}
}

// takeBack tells those who were told of a check that it was withdrawn, or
// corrected by another in which there is no danger.
func (t *Talk) takeBack(c Check, by Slip) {
	key := "alert.withdrawn"
	if by != "" {
		key = "alert.corrected"
	}
	if dangers := t.dangersOf(c); len(dangers) > 0 {
		t.tell(c, key, dangers, "new", string(by))
	}
}

// dangersOf are the dangers of a check, none of the zero check.
func (t *Talk) dangersOf(c Check) []Danger {
	if c.Slip == "" {
		return nil
	}
	return t.Programme.Dangers(&c)
}

// Poisoned is the check before, of a lot checked again, in which something was
// seen that makes it no food, and what; none where the check itself says so.
// Mould and the paint of seed do not go away: who sees none any more has another
// part of the lot before him, or another lot.
func (t *Talk) Poisoned(c Check) (before Check, poison []Danger) {
	if len(t.poison(c)) > 0 {
		return Check{}, nil
	}
	for range longestChain {
		b, ok := t.before(c.Recheck)
		if !ok {
			break
		}
		if poison = t.poison(b); b.State == Filed && len(poison) > 0 {
			return b, poison
		}
		c = b
	}
	return Check{}, nil
}

// PoisonText is Poisoned in words.
func (t *Talk) PoisonText(c Check) (before Slip, what string) {
	b, poison := t.Poisoned(c)
	return b.Slip, t.dangersText(&b, poison)
}

// poison is what of a check's dangers makes it no food.
func (t *Talk) poison(c Check) []Danger {
	return slices.DeleteFunc(t.dangersOf(c), func(d Danger) bool { return !d.uneatable() })
}

func within(some, all []Danger) bool {
	return !slices.ContainsFunc(some, func(d Danger) bool { return !slices.Contains(all, d) })
}

// tell sends a message about a check to every coordinator of its district who
// may be written to, but for whoever sent the check.
func (t *Talk) tell(c Check, key string, dangers []Danger, args ...any) {
	people, err := t.view.Coordinators()
	t.fail(err)
	grower, reporter := t.PersonOf(c.Lot.Grower), t.PersonOf(c.Reporter)
	for _, p := range people {
		if p.ID == t.Person.ID || !p.writable() || !p.Coordinates(c.Lot.District) {
			continue
		}
		l := letter{Talk: t.to(p), check: &c, grower: grower, reporter: reporter}
		t.queue(p.Phone, l.text(key, dangers, args), Alert, c.Slip)
	}
}

// Coordinates tells whether the person is a coordinator of a district: of their
// own, or of all when they have none. A lot of no known district is everybody's.
func (p *Person) Coordinates(district string) bool {
	return p.Role == Coordinator && (p.District == "" || district == "" || p.District == district)
}

// writable tells whether the person may get messages that they did not ask for.
func (p *Person) writable() bool {
	return p.Stopped.IsZero() && !p.Forgotten && p.Phone.Answerable() && p.Consent.Given
}

// to is a talk that only says things: to somebody else, by SMS.
func (t *Talk) to(p Person) *Talk {
	return &Talk{
		Programme: t.Programme, Person: p, Dialogue: &Dialogue{},
		In: Input{Kind: SMS, Phone: p.Phone, At: t.In.At, Budget: Budget{Septets: oneMessage, Count: t.In.Budget.Count}},
	}
}

// oneMessage is what one SMS holds, in septets. Source: [TS-23.038].
const oneMessage = 160

// letter is a message about a check to somebody who did not make it.
type letter struct {
	*Talk
	check            *Check
	grower, reporter Person
}

// text is the fullest that fits one message. What must be said of a lot that
// nobody should eat is in every form; who and where are left out before it.
func (l *letter) text(key string, dangers []Danger, args []any) string {
	what, never, dry := l.dangersText(l.check, dangers), "", ""
	if key == "alert.lot" || key == "alert.still" || key == "alert.gone" {
		switch {
		case slices.ContainsFunc(dangers, Danger.uneatable): // to be put aside, not to be spread
			never = l.Say("alert.never")
		case slices.Contains(dangers, Wet):
			dry = l.Say("alert.dry")
		}
	}
	c, stop := l.check, l.Say("alert.stop")
	by, of := l.named("alert.by", l.reporter.Name), l.named("alert.of", l.grower.Name)
	if l.grower.ID == l.reporter.ID {
		of = ""
	}
	forms := [][]string{
		{of, by, c.Lot.Village, c.Lot.District, dry, stop}, {of, by, c.Lot.Village, c.Lot.District, dry, ""},
		{of, by, "", c.Lot.District, dry, ""}, {"", by, "", c.Lot.District, dry, ""}, {"", by, "", c.Lot.District, "", ""},
		{"", "", "", c.Lot.District, "", ""}, {"", "", "", "", "", ""},
	}
	text := ""
	for _, f := range forms {
		details := strings.Join(slices.DeleteFunc(f[:4:4], blank), ", ")
		if details != "" {
			details = ", " + details
		}
		said := append([]any{"what", what, "slip", string(c.Slip), "details", details}, args...)
		text = strings.Join(slices.DeleteFunc([]string{l.Say(key, said...), never, f[4], f[5]}, blank), " ")
		if text = l.showable(text); l.Fits(text) {
			break
		}
	}
	return text
}

func blank(s string) bool { return s == "" }

func (l *letter) named(key, name string) string {
	if name == "" {
		return ""
	}
	return l.Say(key, "name", name)
}

// dangersText names dangers of a check, the moisture with its value. Mould goes
// without saying how it smells.
func (t *Talk) dangersText(c *Check, dangers []Danger) string {
	var out []string
	for _, d := range dangers {
		switch {
		case d == Musty && slices.Contains(dangers, Mouldy):
		case d == Insects:
			out = append(out, t.Say("parameter.live_insects"))
		case d == Wet:
			value, _ := t.Programme.moisture(c)
			out = append(out, t.Say("field."+grading.Moisture.String())+" "+t.Number(value)+t.Say("unit.percent"))
		default:
			out = append(out, t.Say("flag."+string(d)))
		}
	}
	return strings.Join(out, ", ")
}

// uneatable tells whether what has the danger is no food and no feed.
func (d Danger) uneatable() bool { return d == TreatedSeed || d == Mouldy || d == Musty }

// alerts are the texts that go to coordinators, by key.
var alerts = [...]string{"alert.lot", "alert.still", "alert.gone", "alert.over", "alert.withdrawn", "alert.corrected"}

// shortestAlert is less than any alert has, in bytes.
const shortestAlert = 24

// alertBack tells whether a text is an alert of ours that was sent back or on:
// it holds how one begins, in any language of the programme, and a slip. Read
// as a message it would look like a re-check of the lot, and two phones that
// send on what they get would alarm each other for ever.
func (t *Talk) alertBack() bool {
	if t.In.Kind != SMS || len(t.In.Text) < shortestAlert {
		return false
	}
	slip := func(word string) bool { _, ok := ParseSlip(strings.Trim(word, ".,:;()")); return ok }
	if !slices.ContainsFunc(strings.Fields(t.In.Text), slip) {
		return false
	}
	text := squeezed(t.In.Text)
	for _, lang := range append([]Language{"en"}, t.Programme.Languages...) {
		for _, key := range alerts {
			begin, _, _ := strings.Cut(t.Programme.Words.Text(string(lang), key), "{")
			if strings.Contains(text, squeezed(begin)) {
				return true
			}
		}
	}
	return false
}
