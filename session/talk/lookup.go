package talk

import (
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// LookUp answers a slip: grade, day, bags, moisture, standard, and whether it
// was replaced, withdrawn or checked again. The answer never says who the
// grower is. Somebody who sends wrong slips has to wait longer and longer.
func (t *Talk) LookUp(entry string) string {
	d := t.Dialogue
	if wait := t.Slow(); wait > 0 {
		return t.Say("slip.slow", "minutes", minutes(wait))
	}
	slip, well := session.ParseSlip(entry)
	if well {
		if c, ok := t.Check(slip); ok {
			d.Wrong, d.WrongSince = 0, time.Time{}
			text := t.SlipText(c)
			if with := text + " " + t.Say("slip.told"); t.noteLook(c) && t.Fits(with) {
				text = with
			}
			return text
		}
	}
	if !well && !session.LooksLikeSlip(entry) { // a slip of the finger, no try
		return t.Say("slip.misread")
	}
	t.Missed()
	if !well {
		return t.Say("slip.misread")
	}
	return t.Say("slip.unknown", "slip", string(slip))
}

// lacks says what was found in the lot, that the table was out of force, what
// was not measured, how sure the grade is and what was not looked at, each
// after a space. The fullest form comes first.
func (t *Filing) lacks(c *session.Check) (ways [3]string) {
	var what []string
	for _, id := range c.Missing {
		what = append(what, t.ParameterName(id))
	}
	counted := t.Say("slip.lacks", "count", len(what))
	missing := [...]string{t.Say("grade.missing", "what", strings.Join(what, ", ")), counted, counted}
	for i := range ways {
		if found := t.Found(c); found != "" { // what nobody should eat is told in another way
			ways[i] += " " + found
		}
		if t.Programme.OutOfForce(c) {
			ways[i] += " " + t.Say("grade.out_of_force")
		}
		if len(what) > 0 {
			ways[i] += " " + missing[i]
		}
		if sure := t.HowSure(c); sure != "" && i < len(ways)-1 {
			ways[i] += " " + sure
		}
		if signs := t.Signs(c); signs != "" {
			ways[i] += " " + signs
		}
	}
	return ways
}

// Found names what was seen in a lot, live insects with their number; "" where
// nothing was.
func (v *Voice) Found(c *session.Check) string {
	var out []string
	for _, f := range c.Readings.Flags {
		if !f.OfWater() {
			out = append(out, v.Say("flag."+string(f)))
		}
	}
	for _, f := range grading.FieldsOf(grading.Insects) {
		if n, _ := c.Readings.Get(f); n > 0 {
			out = append(out, v.Say("flag."+f.String())+" "+v.Number(n))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return v.Say("grade.found", "what", strings.Join(out, ", "))
}

// Signs says that nobody looked for signs in a check; "" if somebody did.
func (v *Voice) Signs(c *session.Check) string {
	said := c.Said()
	switch {
	case !said.Unlooked():
		return ""
	case c.Readings.Looked == grading.NotLooked:
		return v.Say("look.unlooked")
	}
	return v.Say("look.unrecorded")
}

// SlipText is what anybody may know of a filed check. If nobody should eat the
// lot, it says so before the grade: not every standard refuses mould.
func (t *Filing) SlipText(c session.Check) string {
	grade := t.GradeName(c.Grade, c.Rank, c.Of, c.Complete)
	lead := "" // that there is a newer check, before all but a danger
	if newer := programme.Newer(c, t.Check); newer != "" && newer != c.ReplacedBy {
		lead = t.Say("slip.newer", "new", string(newer)) + " "
	}
	changed, unsound := t.Unsound(c)
	poison := t.Programme.Poison(&c)
	before, once := t.Programme.Poisoned(c, t.Check)
	date, amount := t.Date(c.At), t.Amount(c.Lot)
	text := t.Say("slip.found", "slip", string(c.Slip), "grade", grade, "date", date, "amount", amount, "standard", c.StandardID)
	brief := t.Say("slip.brief", "slip", string(c.Slip), "grade", grade, "date", date, "amount", amount)
	if c.Ungraded() {
		grade = t.handGrade(&c)
		brief = t.Say("slip.brief", "slip", string(c.Slip), "grade", grade, "date", date, "amount", amount)
		if text = brief; c.Lot.KG == 0 && c.Lot.Bags == 0 {
			text = t.Say("slip.tiny", "slip", string(c.Slip), "grade", grade)
			brief = text
		}
	}
	cleared, lacks := t.ClearedText(c), t.lacks(&c)
	behind := strings.TrimRight(" "+cleared, " ")
	switch {
	case cleared == "" && t.Fits(lead+text+lacks[0]):
		text += lacks[0]
	case t.Fits(lead + brief + lacks[0] + behind):
		text = brief + lacks[0]
	case t.Fits(lead + brief + lacks[1] + behind):
		text = brief + lacks[1]
	case t.Fits(lead + brief + lacks[2]):
		text = brief + lacks[2]
	default:
		text = t.Say("slip.tiny", "slip", string(c.Slip), "grade", grade) + lacks[2]
	}
	add := func(more string) { // as far as one message holds it
		if t.Fits(lead + text + " " + more) {
			text += " " + more
		}
	}
	if cleared != "" {
		add(cleared)
	}
	switch {
	case c.Pooled():
		add(t.Say("recheck.together", "slip", string(c.Recheck)))
	case c.Recheck != "":
		add(t.Say("slip.recheck", "slip", string(c.Recheck)))
	}
	if c.Readings.Has(grading.Moisture) {
		add(t.Say("slip.moisture", "value", t.Number(c.Readings.MeanMoisture().Round(1))))
	}
	switch {
	case c.State != session.Filed:
		if text = t.Say("slip.withdrawn", "slip", string(c.Slip), "date", t.Date(c.At)); c.State == session.Corrected {
			text = t.Say("slip.corrected", "slip", string(c.Slip), "new", string(c.ReplacedBy))
		}
		if len(poison) > 0 { // what was said of the lot once is not taken back with the slip
			never := " " + t.Say("alert.never")
			if had := " " + t.Say("slip.had", "what", t.dangersText(&c, poison)) + never; t.Fits(text + had) {
				never = had
			}
			if text += never; !t.Fits(lead + text) {
				lead = ""
			}
		}
	case unsound:
		text = t.Say("slip.unsound", "slip", string(c.Slip), "changed", string(changed))
	case len(poison) > 0:
		text = t.Say("slip.danger", "slip", string(c.Slip), "what", t.dangersText(&c, poison), "never", t.Say("alert.never"),
			"stays", t.Stays(programme.Unfit(&c)))
		newer := strings.TrimSpace(lead)
		if lead = ""; newer != "" {
			add(newer)
		}
		add(amount + ", " + date + ".")
		if c.HeldFrom != "" {
			add(t.Say("slip.recheck", "slip", string(c.HeldFrom)))
		}
	case len(once) > 0:
		text = t.Say("slip.once", "slip", string(c.Slip), "what", t.dangersText(&before, once), "before", string(before.Slip), "stays", t.Stays(programme.Unfit(&before)), "grade", grade, "date", t.Date(c.At))
	}
	if len(once) > 0 && c.State == session.Filed && !unsound { // what nobody should eat is said first
		return strings.TrimSpace(text + " " + lead)
	}
	return lead + text
}
