package talk

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"threshline/session"
	"threshline/session/programme"
)

// mostAlone is how many alerts from one reporter on one day are sent one by
// one. Source: our choice.
const mostAlone = 3

// manyToday reports whether the reporter had filed so many alarming checks
// earlier that day that this one is sent together with others.
func (t *Telling) manyToday(c *session.Check) bool {
	day := session.Midnight(c.At, cmp.Or(t.Programme.Zone, time.UTC))
	for _, n := range [...]int{4 * mostAlone, 40 * mostAlone, session.MostTallied} {
		stored, err := t.view.ChecksBy(c.Reporter, n)
		t.fail(err)
		all := map[session.Slip]*session.Check{}
		for i := range stored {
			all[stored[i].Slip] = &stored[i]
		}
		for i := range t.writes.Checks { // one message may file several
			if b := &t.writes.Checks[i]; b.Reporter == c.Reporter {
				all[b.Slip] = b
			}
		}
		alarms := 0
		for _, b := range all {
			if b.Slip != c.Slip && !b.At.Before(day) && !b.At.After(c.At) && t.alarms(b, all[b.ReplacedBy]) {
				alarms++
			}
		}
		if alarms >= mostAlone {
			return true
		}
		if len(stored) < n || stored[n-1].At.Before(day) {
			return false
		}
	}
	return true // so many checks in a day
}

// alarms reports whether coordinators get an alert about a check, and its
// correction does not say the same.
func (t *Telling) alarms(c, corrected *session.Check) bool {
	dangers := t.Programme.Dangers(c)
	if corrected != nil {
		if same := t.Programme.Dangers(corrected); len(same) > 0 && within(same, dangers) {
			return false
		}
	}
	return c.Recheck != "" || len(dangers) > 0
}

// tellJoined sends a coordinator one message about all lots that are to be told
// together: how many, what they have, and as many slips as there is room for.
func (t *Telling) tellJoined(due []session.Reminder) {
	var lots, ended []session.Check
	found, wettest := map[programme.Danger]bool{}, session.Check{}
	told := map[session.Slip]bool{}
	for _, r := range due {
		c, ok := t.before(r.Slip) // a correction may say the same
		if !ok || told[c.Slip] || t.Person.Role != session.Coordinator {
			continue
		}
		told[c.Slip] = true
		_, poison := t.Programme.Poisoned(c, t.Check)
		now := append(t.Programme.Dangers(&c), poison...)
		if len(now) == 0 || c.State != session.Filed && len(t.Programme.Poison(&c)) == 0 { // which a withdrawal does not take away
			ended = append(ended, c)
			continue
		}
		lots = append(lots, c)
		for _, d := range now {
			found[d] = true
		}
		if a, measured := t.Programme.Moisture(&c); measured {
			if b, any := t.Programme.Moisture(&wettest); !any || a > b {
				wettest = c
			}
		}
	}
	if len(lots)+len(ended) == 0 {
		return
	}
	l := letter{Voice: t.to(t.Person), check: &wettest}
	for i, c := range append(slices.Clone(lots), ended...) { // who sent them, where it is one person
		if p := t.PersonOf(c.Reporter); i == 0 || p.ID == l.reporter.ID {
			l.reporter = p
		} else {
			l.reporter = session.Person{}
			break
		}
	}
	dangers := slices.DeleteFunc(programme.AllDangers(), func(d programme.Danger) bool { return !found[d] })
	text := l.joined(lots, ended, dangers)
	if len(lots) == 1 && len(ended) == 0 {
		l.check, l.grower = &lots[0], t.PersonOf(lots[0].Lot.Grower)
		key := "alert.lot"
		switch {
		case l.check.State != session.Filed:
			key = "alert.pulled"
		case len(t.Programme.Seen(l.check)) == 0:
			key = "alert.gone"
		}
		text = l.text(key, dangers, nil)
	}
	t.queue(t.Person.Phone, text, session.Alerts, "")
}

// joined is the fullest text about several lots that fits one message. Lots to
// visit come before the others. When room is short, slips stay and the sender
// is left out.
func (l *letter) joined(lots, ended []session.Check, dangers []programme.Danger) (text string) {
	never, details := "", ""
	if slices.ContainsFunc(dangers, programme.Danger.Uneatable) {
		never = l.Say("alert.never")
	}
	if by := l.named("alert.by", l.reporter.Name); by != "" {
		details = ", " + by
	}
	what := l.dangersText(l.check, dangers)
	for shown := min(len(lots)+len(ended), mostSlips); shown >= 1; shown-- {
		if shown < 3 {
			details = ""
		}
		var parts []string
		if len(lots) > 0 {
			parts = append(parts, l.Say("alert.joined", "count", len(lots), "details", details, "what", what, "slips", slipsOf(lots, shown)), never)
		}
		if len(ended) > 0 {
			parts = append(parts, l.Say("alert.ended", "count", len(ended), "slips", slipsOf(ended, max(shown-len(lots), 1))))
		}
		text = l.showable(strings.Join(slices.DeleteFunc(parts, blank), " "))
		if l.Fits(text) {
			return text
		}
	}
	if len(lots) > 0 && len(ended) > 0 { // the danger is what has to be known
		return l.joined(lots, nil, dangers)
	}
	return text
}

// mostSlips is more slips than fit one message.
const mostSlips = 20

// slipsOf names the newest of some checks.
func slipsOf(checks []session.Check, most int) string {
	checks = slices.Clone(checks)
	slices.SortFunc(checks, func(a, b session.Check) int { return b.At.Compare(a.At) })
	var slips []string
	for _, c := range checks[:min(most, len(checks))] {
		slips = append(slips, string(c.Slip))
	}
	return strings.Join(slips, " ")
}
