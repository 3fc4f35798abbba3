package talk

import (
	"slices"
	"strings"

	"threshline/session"
	"threshline/session/programme"
)

// Telling is what is told of lots, to those whom they concern.
type Telling struct {
	Voice
	Records
}

// alert tells the coordinators what needs a visit in a check that was just
// filed. For a correction they hear only of new dangers, or that none is left.
// For a re-check they hear each time that the danger is new or still there, and
// once that it is gone.
func (t *Telling) alert(c, corrected, before session.Check) {
	now, told, then := t.Programme.Seen(&c), t.Programme.Dangers(&corrected), t.Programme.Dangers(&before)
	held, said := t.Programme.Held(&c), c.Said()
	switch all := t.Programme.Dangers(&c); {
	case len(now) == 0 && len(held) > 0 && !said.Unlooked():
		t.tell(c, "alert.gone", held)
	case len(held) > 0 && within(now, append(told, then...)):
		t.tell(c, "alert.still", all)
	case len(held) > 0:
		t.tell(c, "alert.lot", all)
	case len(now) == 0 && corrected.Slip == "" && said.Unlooked(): // nobody knows that it is over
	case len(now) == 0 && corrected.Slip == "":
		if len(then) > 0 {
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

// takeBack tells everybody who had an alert about a check that it was
// withdrawn, or that its correction shows no danger.
func (t *Telling) takeBack(c session.Check, by session.Slip) {
	key := "alert.withdrawn"
	if by != "" {
		key = "alert.corrected"
	}
	dangers := t.Programme.Dangers(&c)
	if poison := t.Programme.Poison(&c); len(poison) > 0 { // it is in the lot all the same
		key, dangers = "alert.pulled", poison
	}
	if len(dangers) > 0 {
		t.tell(c, key, dangers, "new", string(by))
	}
}

func within(some, all []programme.Danger) bool {
	return !slices.ContainsFunc(some, func(d programme.Danger) bool { return !slices.Contains(all, d) })
}

// tell sends a message about a check to every coordinator of its district who
// may get messages, except the one who sent the check. After the first few
// alerts of a reporter on one day, the others are sent together.
func (t *Telling) tell(c session.Check, key string, dangers []programme.Danger, args ...any) {
	people, err := t.view.Coordinators()
	t.fail(err)
	grower, reporter := t.PersonOf(c.Lot.Grower), t.PersonOf(c.Reporter)
	joined := t.manyToday(&c)
	for i, p := range people {
		if p.ID == t.Person.ID || !p.Writable() || !p.Coordinates(c.Lot.District) {
			continue
		}
		if joined {
			t.remind(session.AlertOf(&people[i], c.Slip, t.In.At))
			continue
		}
		l := letter{Voice: t.to(p), check: &c, grower: grower, reporter: reporter}
		t.queue(p.Phone, l.text(key, dangers, args), session.Alert, c.Slip)
	}
}

// to returns the voice for messages to another person, by SMS.
func (t *Telling) to(p session.Person) Voice {
	v := t.Voice
	v.Language, v.Budget.Septets = v.languageOf(p), oneMessage
	return v
}

// oneMessage is what one SMS holds, in septets. Source: [TS-23.038].
const oneMessage = 160

// letter is a message about a check to somebody who did not make it.
type letter struct {
	Voice
	check            *session.Check
	grower, reporter session.Person
}

// text returns the fullest form that fits one message. Every form says that
// nobody should eat the lot; who and where are left out first.
func (l *letter) text(key string, dangers []programme.Danger, args []any) string {
	what, never, dry := l.dangersText(l.check, dangers), "", ""
	if key == "alert.lot" || key == "alert.still" || key == "alert.gone" || key == "alert.pulled" {
		switch {
		case slices.ContainsFunc(dangers, programme.Danger.Uneatable): // to be put aside, not to be spread
			never = l.Say("alert.never")
		case slices.Contains(dangers, programme.Wet):
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

// alerts are the texts that go to coordinators, by key.
var alerts = [...]string{"alert.lot", "alert.still", "alert.gone", "alert.pulled", "alert.over", "alert.withdrawn", "alert.corrected", "alert.joined", "alert.ended"}

// shortestAlert is shorter than any alert, in bytes.
const shortestAlert = 24

// isAlert reports whether a text is one of our alerts, sent back or forwarded:
// it has a slip in it and the beginning of an alert, in any language of the
// programme. Taken as a message it would look like a re-check of the lot, and
// two phones that forward everything would alarm each other for ever.
func (v *Voice) isAlert(said string) bool {
	if len(said) < shortestAlert {
		return false
	}
	slip := func(word string) bool { _, ok := session.ParseSlip(strings.Trim(word, ".,:;()")); return ok }
	if !slices.ContainsFunc(strings.Fields(said), slip) {
		return false
	}
	text := squeezed(said)
	for _, lang := range append([]session.Language{"en"}, v.Programme.Languages...) {
		for _, key := range alerts {
			begin, _, _ := strings.Cut(v.Words.Text(string(lang), key), "{")
			if strings.Contains(text, squeezed(begin)) {
				return true
			}
		}
	}
	return false
}
