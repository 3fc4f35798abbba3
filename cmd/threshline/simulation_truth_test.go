package main

import (
	"context"
	"maps"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"threshline/gateway/gsm"
	"threshline/grading"
	"threshline/session"
)

// truth is what must hold, kept beside the programme from what people did and
// what left it: it asks the programme's own code nothing but what is stored.
type truth struct {
	checks  map[session.Slip]session.Check // as they were stored last
	looked  map[session.Slip]session.Check // as they were read since, and found to be the same
	slips   []session.Slip                 // in the order in which they came
	waiting map[told]bool                  // coordinators who were told of a lot, or will be

	outgoing map[session.OutgoingID]session.Outgoing
	order    []session.Outgoing // as they were queued

	spent     map[dayPart]int // what gateways took out of the day together
	meant     map[session.OutgoingID]session.Purpose
	reminders map[session.ReminderID]session.Reminder // that are set

	forgotten []string // numbers, and names that only they had
	moved     []simMove
	joined    []session.Phone // of whom there is a record
	keys      simKeys
	digests   map[session.Phone]time.Time // the last one
	weeks     map[session.Phone]int       // how many came
	noDigest  map[session.Phone]bool      // did not want it for a while
}

func newTruth() *truth {
	return &truth{
		checks: map[session.Slip]session.Check{}, looked: map[session.Slip]session.Check{}, waiting: map[told]bool{}, outgoing: map[session.OutgoingID]session.Outgoing{}, digests: map[session.Phone]time.Time{},
		weeks: map[session.Phone]int{}, noDigest: map[session.Phone]bool{}, meant: map[session.OutgoingID]session.Purpose{}, spent: map[dayPart]int{}, reminders: map[session.ReminderID]session.Reminder{},
	}
}

// wrote is told of everything that an exchange stored.
func (t *truth) wrote(s *simulation, w *session.Writes) {
	var dangers []session.Check // that nobody was told of before
	for _, c := range w.Checks {
		old, known := t.checks[c.Slip]
		if len(c.Readings.Flags) > len(old.Readings.Flags) {
			dangers = append(dangers, c)
		}
		if !known {
			t.slips = append(t.slips, c.Slip)
		}
		for _, flag := range old.Readings.Flags {
			toldApart := flag == grading.Musty && slices.Contains(c.Readings.Flags, grading.OffOdour)
			if !slices.Contains(c.Readings.Flags, flag) && !toldApart && !flag.OfWater() { // which may be tested anew
				s.wrong(ruleDanger, "%s of %s is lost", flag, c.Slip)
			}
		}
		t.checks[c.Slip] = c
		delete(t.looked, c.Slip)
		t.counted(s, &c, known)
	}
	for _, o := range w.Outgoing {
		t.outgoing[o.ID] = o
		t.order = append(t.order, o)
		t.queued(s, o)
	}
	for _, p := range w.People {
		if slices.ContainsFunc(t.moved, func(m simMove) bool { return m.was == p.Phone && m.id != p.ID }) {
			t.joined = append(t.joined, p.Phone)
		}
		switch {
		case p.Forgotten && s.talking:
			s.left = true
		case p.Forgotten:
			s.wrong(ruleKnown, "%s was let go", p.ID)
		case !p.GetsDigest():
			t.noDigest[p.Phone] = true
		}
	}
	t.remind(s, w)
	for i := range dangers {
		t.dangerTold(s, &dangers[i])
	}
}

// remind keeps what reminders are set.
func (t *truth) remind(s *simulation, w *session.Writes) {
	for _, gone := range w.Forget {
		maps.DeleteFunc(t.reminders, func(_ session.ReminderID, r session.Reminder) bool {
			return gone.Person != "" && r.Person == gone.Person || gone.Phone != "" && r.Phone == gone.Phone
		})
	}
	for _, r := range w.Reminders {
		was, set := t.reminders[r.ID]
		switch {
		case !r.Cancel:
			t.reminders[r.ID] = r
			if r.Kind == session.AlertKind {
				t.waiting[told{r.Phone, r.Slip}] = true
			}
		case !r.Due.IsZero() && (!set || !was.Due.Equal(r.Due)):
			s.wrong(ruleInTime, "%+v is carried out, and %+v was set: %v", r, was, set)
		default:
			delete(t.reminders, r.ID)
		}
	}
}

// nothingDue holds that all that is due was carried out.
func (t *truth) nothingDue(s *simulation) {
	now := s.station.clock.Now()
	for _, r := range t.reminders {
		if !r.Due.After(now) {
			s.wrong(ruleInTime, "%+v is due at %s", r, now)
		}
	}
}

// queued looks at a message of ours.
func (t *truth) queued(s *simulation, o session.Outgoing) {
	s.happened.add(string(o.Purpose))
	t.slipsIn(s, o.Text)
	switch o.Purpose {
	case session.Alert:
		t.waiting[told{o.To, o.Slip}] = true
	case session.Digest:
		s.note("a week for %s", string(o.To))
		if before := t.digests[o.To]; !before.IsZero() && o.Created.Sub(before) < 6*24*time.Hour && !s.jumped {
			s.wrong(ruleInTime, "%s has a digest of %s and one of %s", string(o.To), before, o.Created)
		}
		t.digests[o.To] = o.Created
		t.weeks[o.To]++
	}
}

// heard looks at what came of a message.
func (t *truth) heard(s *simulation, m *simMessage) {
	if m.filed > 1 {
		s.wrong(ruleKept, "%q filed %d checks", m.text, m.filed)
	}
	if s.reusesIDs() && m.duplicate && m.text == "" && m.answer == "" {
		return // not mended: who declined a moment before and dials with the same ids is met with silence
	}
	switch {
	case m.kind == session.USSD && m.answer == "":
		s.wrong(ruleAnswers, "%q has no answer", m.text)
	case m.kind == session.SMS && m.filed == 1 && !slices.ContainsFunc(t.order[len(t.order)-m.queued:], func(o session.Outgoing) bool { return o.To == m.from.number }):
		s.wrong(ruleAnswers, "%q is filed, and who sent it is told nothing", m.text)
	}
	if m.duplicate && !m.redialled {
		s.wrong(ruleAlike, "%q is new, and was answered as if it had come before: %q", m.text, m.answer)
	}
	t.slipsIn(s, m.answer)
}

// slipsIn holds that each slip that somebody is told stands for a check.
func (t *truth) slipsIn(s *simulation, text string) {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !strings.ContainsRune("0123456789ABCDEFGHJKLMNPQRSTUVWXYZ", r) }) {
		if slip, ok := session.ParseSlip(word); ok && len(word) == 7 {
			if _, known := t.checks[slip]; !known {
				s.wrong(ruleKept, "%q tells of the slip %s, which is not filed", text, slip)
			}
		}
	}
}

// look holds what must be true after every step.
func (t *truth) look(s *simulation) {
	t.movedAlone(s)
	t.money(s)
	t.nothingDue(s)
	for ref, n := range s.carrier.known {
		if n > 1 {
			s.wrong(ruleInTime, "%s was handed on %d times, and taken each time", ref, n)
		}
	}
	for _, p := range s.people {
		for _, text := range s.carrier.sent {
			if text.to == p.number && !p.stopped.IsZero() && text.at.After(p.stopped) {
				o := t.outgoing[session.OutgoingID(text.ref)]
				if !slices.Contains([]session.Purpose{session.Answer, session.Greeting, session.Safety}, o.Purpose) {
					s.wrong(ruleStop, "%s has stopped messages and got %q", string(p.number), text.text)
				}
			}
		}
	}
	if s.steps%5 == 0 {
		t.nobodyWaits(s)
		s.goroutinesReturn()
	}
	if s.steps%20 == 0 {
		t.nobodyLogged(s)
		s.each(func() { t.ledger(s) })
		t.kept(s)
		t.keys.lookAtExports(s)
	}
	s.each(func() { t.keys.look(s) })
}

// waitsFor is how long a message may wait that was never tried, while the day's
// money for it lasts.
const waitsFor = 10 * time.Minute

// nobodyWaits holds that an answer goes out while there is money for it, whatever
// others cost, and one for safety in any case.
func (t *truth) nobodyWaits(s *simulation) {
	if s.jumped || time.Since(s.disturbed) < waitsFor {
		return
	}
	sent, err := s.station.store.Sent(context.Background(), session.Outgoing{}, 500)
	if err != nil {
		s.wrong(ruleRest, "what was sent: %w", err)
	}
	var used map[dayPart]int // what went to the carrier, taken or not
	for _, o := range sent {
		purpose := t.meant[o.ID]
		if o.State != session.Queued || o.Attempts > 0 || time.Since(o.Created) < waitsFor || purpose != session.Answer && purpose != session.Greeting && purpose != session.Safety {
			continue
		}
		if used == nil {
			used = map[dayPart]int{}
			for _, try := range s.carrier.tries {
				used[t.dayPart(s, try.at, try.ref)] += try.segments
			}
		}
		d := t.dayPart(s, time.Now(), string(o.ID))
		used[d] = max(used[d], t.spent[d])
		if n := len(gsm.Segments(o.Text)); purpose == session.Safety || used[d]+n <= dailyParts[d.part] {
			s.wrong(ruleAnswers, "%q of %s waits until %s, and of the day's %d segments for %s %d were used", o.Text, o.Created, o.Due, dailyParts[d.part], d.part, used[d])
		}
	}
}

// kept holds that every check ever seen is there, once, under its slip.
func (t *truth) kept(s *simulation) {
	s.read(func(v session.View) error {
		for _, slip := range t.slips {
			c, err := v.Check(slip)
			if err != nil {
				s.wrong(ruleKept, "%s is gone: %w", slip, err)
				return nil
			}
			t.same(s, c)
		}
		return nil
	})
}

// same holds that a check is as it was stored last.
func (t *truth) same(s *simulation, c session.Check) {
	if last, ok := t.looked[c.Slip]; ok && reflect.DeepEqual(last, c) {
		return // the usual, and quicker
	}
	was := t.checks[c.Slip]
	was.Version, was.Position = c.Version, c.Position // which the engine gives
	if diff := cmp.Diff(was, c, cmpopts.EquateEmpty(), cmp.AllowUnexported(grading.Readings{})); diff != "" {
		s.wrong(ruleKept, "%s is not as it was filed:\n%s", c.Slip, diff)
		return
	}
	t.looked[c.Slip] = c
}
