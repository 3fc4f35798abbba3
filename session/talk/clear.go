package talk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// mostOfLot is how many of a grower's checks are looked through for those of one lot.
const mostOfLot = 500

// Table finds the standard that a check was graded by; nil when it is not known.
type Table func(id, edition string) *grading.Standard

// Clear is the turn in which the desk takes signs off a lot. All checks of the
// lot are judged again without them, each by its own table, or by the one in
// force if that table is no longer known. The grower, the agent, the person who
// measured and everybody who looked up a slip of the dangerous lot get a
// message. Errors: programme.ErrNothingToClear, session.ErrNotFound, faults of
// the store, and those of grading.
func (m *Machine) Clear(v session.View, slip session.Slip, what session.Clearance, tables Table, entropy [2]uint64, budget session.Budget) (session.Writes, error) {
	in := session.Input{Kind: session.SMS, At: what.At, Entropy: entropy, Budget: budget}
	t := m.filing(v, in)
	c, err := v.Check(slip)
	if err != nil {
		return session.Writes{}, fmt.Errorf("talk: %w", err)
	}
	lot := []session.Check{c}
	if c.Lot.Grower != "" {
		all, err := v.ChecksOf(c.Lot.Grower, mostOfLot)
		if err != nil {
			return session.Writes{}, fmt.Errorf("talk: %w", err)
		}
		lot = programme.OneLot(c, all)
	}
	changed := false
	for _, k := range lot {
		if !k.Clear(what) {
			continue
		}
		if err := t.judgeAgain(&k, tables); err != nil {
			return session.Writes{}, err
		}
		t.SaveCheck(k)
		changed = true
	}
	if !changed {
		return session.Writes{}, programme.ErrNothingToClear
	}
	t.tellCleared(lot, what)
	w := t.done()
	w.Reply = session.Reply{Silent: true}
	return w, t.fault
}

func (t *Filing) judgeAgain(c *session.Check, tables Table) error {
	scheme := *t.Programme
	if table := tables(c.StandardID, c.Edition); table != nil {
		scheme.Standard = table
	}
	past := t.past(c.Lot.Grower, c.At, []session.Slip{c.Slip, c.Recheck})
	judged, err := scheme.Judge(c.Lot, c.Readings, t.PersonOf(c.Reporter).Kit, c.At, past)
	if err != nil {
		return fmt.Errorf("talk: %w", err)
	}
	judged.Record(c, scheme.Standard)
	return nil
}

// tellCleared tells everybody whom the lot concerns, each once and in their own
// language.
func (t *Telling) tellCleared(lot []session.Check, what session.Clearance) {
	newest := lot[0]
	told := map[session.Phone]bool{"": true}
	for _, c := range lot {
		c, _ = t.Check(c.Slip) // as it stands now
		if c.State == session.Filed && (newest.State != session.Filed || c.At.After(newest.At)) {
			newest = c
		}
	}
	newest, _ = t.Check(newest.Slip)
	grower := t.PersonOf(newest.Lot.Grower)
	for _, id := range []session.PersonID{newest.Lot.Grower, grower.Agent, newest.Agent, newest.Reporter} {
		if p := t.PersonOf(id); p.Writable() && !told[p.Phone] {
			told[p.Phone] = true
			t.clearedTo(p.Phone, t.to(p), newest.Slip, newest, what)
		}
	}
	for _, c := range lot {
		notes, err := t.view.Looked(c.Slip)
		t.fail(err)
		c, _ = t.Check(c.Slip)
		for _, note := range notes {
			if len(programme.Unfit(&c)) == 0 {
				t.cancel(note.ID) // there is nothing more to tell
			}
			p, phone := t.PersonOf(note.Person), note.Phone
			if p.ID != "" { // whose number may be another since
				phone = p.Phone
			} else {
				p = t.PersonAt(phone)
			}
			if told[phone] || !phone.Answerable() || !p.Stopped.IsZero() || p.Forgotten {
				continue
			}
			told[phone] = true
			p.Language = cmp.Or(p.Language, note.Language)
			t.clearedTo(phone, t.to(p), c.Slip, newest, what)
		}
	}
}

// clearedTo queues the message: the fullest form that fits one SMS.
func (t *Telling) clearedTo(to session.Phone, v Voice, slip session.Slip, c session.Check, what session.Clearance) {
	key := "cleared.lab"
	if slices.Contains(what.Flags, grading.TreatedSeed) {
		key = "cleared.seed"
	}
	grade, signs := v.GradeName(c.Grade, c.Rank, c.Of, c.Complete), v.flagsText(what.Flags)
	if c.Ungraded() {
		grade = v.handGrade(&c)
	}
	still := ""
	if left := v.UnfitText(c); left != "" {
		still = v.Say("cleared.still", "what", left) + " " + v.Say("alert.never")
	}
	text := ""
	for _, proof := range [][]string{{what.By, v.Date(what.On), what.Reference}, {what.By, v.Date(what.On)}, {v.Date(what.On)}} {
		text = v.Say(key, "slip", string(slip), "what", signs, "grade", grade, "proof", strings.Join(slices.DeleteFunc(proof, blank), ", "))
		if text = v.showable(strings.TrimSpace(text + " " + still)); v.Fits(text) {
			break
		}
	}
	t.queue(to, text, session.Alert, slip)
}

// flagsText names signs.
func (v *Voice) flagsText(flags []grading.Flag) string {
	var out []string
	for _, f := range flags {
		out = append(out, v.Say("flag."+string(f)))
	}
	return strings.Join(out, ", ")
}

// ClearedText says what was taken off a check, by whom and when; "" for nothing.
func (v *Voice) ClearedText(c session.Check) string {
	var out []string
	for _, k := range c.Cleared {
		key := "slip.cleared"
		if slices.Contains(k.Flags, grading.TreatedSeed) {
			key = "slip.untreated"
		}
		out = append(out, v.showable(v.Say(key, "what", v.flagsText(k.Flags), "by", k.By, "date", v.Date(k.On))))
	}
	return strings.Join(out, " ")
}

// lookedFor is how long we remember that a phone looked up the slip of a lot
// that nobody may eat. Source: our own rule; as long as people ask about a lot.
const lookedFor = 60 * 24 * time.Hour

// noteLook remembers that this phone looked up the slip of a dangerous lot, so
// that it gets a message when the lot is cleared. People whom the lot concerns
// get one anyway.
func (t *Telling) noteLook(c session.Check) (noted bool) {
	if len(programme.Unfit(&c)) == 0 || t.Concerns(c) || !t.In.Phone.Answerable() || !t.Person.Stopped.IsZero() {
		return false
	}
	t.remind(session.Reminder{
		ID: session.LookedID(c.Slip, t.In.Phone), Due: t.In.At.Add(lookedFor), Kind: session.LookedKind,
		Person: t.Person.ID, Phone: t.In.Phone, Slip: c.Slip, Language: t.Language,
	})
	return true
}
