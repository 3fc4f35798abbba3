package screen

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// group is readings that share a screen because they are taken together.
type group struct {
	id     session.ScreenID
	fields []grading.Field
}

// Repeats is how often the moisture is read: common practice, no source.
const repeats = 3

// ussdGroups follow the work on the table; smsGroups put more into a message,
// because each costs money.
var (
	ussdGroups = []group{
		groupOf("moisture", "moisture"), groupOf("sample", "sample"), groupOf("dirt", "dirt"), groupOf("husk", "husk"), groupOf("pan", "pan"),
	}
	smsGroups = []group{
		groupOf("first", "moisture", "sample", "dirt"), groupOf("second", "husk", "pan"),
	}
	panFields   = grading.AskedOn("pan")
	insectGroup = groupOf(insectsScreen, "insects")
)

// groupOf is a screen that asks for the readings of some of the steps in
// grading's table.
func groupOf(id session.ScreenID, steps ...string) group {
	g := group{id: id}
	for _, step := range steps {
		g.fields = append(g.fields, grading.AskedOn(step)...)
	}
	return g
}

// groups are those of the channel that the person uses at the moment.
func groups(t *talk.Talk) []group {
	if t.In.Kind == session.SMS {
		return smsGroups
	}
	return ussdGroups
}

// toolFor is what a field is measured with.
func toolFor(f grading.Field) session.Tool {
	switch f {
	case grading.Moisture:
		return session.Meter
	case grading.SampleWeight, grading.CleanWeight:
		return session.Scale
	case grading.Chaff, grading.Stones, grading.SandWeight:
		return session.Sieves
	case grading.BrownWeight, grading.BrokenWeight, grading.ImmatureWeight:
		return session.Husker
	}
	return session.Pan
}

// wanted are the fields of a group that the standard needs and the kit can
// measure. Without a scale nothing can be weighed, whatever other tools there
// are.
func wanted(t *talk.Talk, g group) []grading.Field {
	if isHand(t.Draft()) { // which tools measure nothing of
		return nil
	}
	kit := t.Person.Kit
	out := make([]grading.Field, 0, len(g.fields))
	for _, f := range g.fields {
		can := kit.Has(toolFor(f)) && (f.Kind() != grading.WeightField || kit.Has(session.Scale))
		if can && t.Needs(f) && !skipped(t, f) {
			out = append(out, f)
		}
	}
	return out
}

// skipped reports whether a reading is left out of the check under way. It is
// asked for all the same when the person chose its line of the summary.
func skipped(t *talk.Talk, f grading.Field) bool {
	draft := t.Draft()
	return draft != nil && !draft.Correcting && slices.Contains(draft.Skipped, f)
}

// missing lists the fields of a group still to come, moisture once for each
// repeat.
func missing(t *talk.Talk, g group) []grading.Field {
	draft := t.Draft()
	if draft == nil {
		return nil
	}
	out := make([]grading.Field, 0, len(g.fields)+repeats-1)
	for _, f := range wanted(t, g) {
		switch {
		case f == grading.Moisture:
			for range max(0, repeats-len(draft.Readings.Repeats)) {
				out = append(out, f)
			}
		case !draft.Readings.Has(f):
			out = append(out, f)
		}
	}
	return out
}

// nextStep returns the screen for the first reading that is still missing, then
// the screen for what was seen, then the summary.
func nextStep(t *talk.Talk) session.ScreenID {
	draft := t.Draft()
	switch {
	case draft == nil:
		return talk.MenuScreen
	case draft.Correcting:
		return sumScreen
	case draft.Lot.Grower == "" && ask.Agents(t):
		return whoseScreen
	case isHand(draft):
		return handStep(t)
	case draft.Lot.KG == 0 && draft.Lot.Bags == 0:
		return bagsScreen
	}
	for _, g := range groups(t) {
		if len(missing(t, g)) > 0 {
			return g.id
		}
	}
	switch {
	case !signsAsked(&draft.Readings):
		return seenScreen
	case smellOpen(draft):
		return smellScreen
	}
	return sumScreen
}

// signsAsked reports whether the person was asked what they see and smell, or
// said it unasked in words that were all understood.
func signsAsked(r *grading.Readings) bool { return r.Looked != grading.NotRecorded }

// signsOpen reports whether this is a re-check of a lot in which something was
// seen, and nothing was said about it now: silence does not mean that it is
// gone. Other checks are filed with the note that nobody looked.
func signsOpen(t *talk.Talk) bool {
	draft := t.Draft()
	if draft == nil || draft.Recheck == "" || signsAsked(&draft.Readings) {
		return false
	}
	before, ok := t.Check(draft.Recheck)
	return ok && before.Seen()
}

// like is an example entry for the fields asked.
func like(t *talk.Talk, fields []grading.Field) string {
	out := make([]string, 0, len(fields))
	moist := [...]string{"13.8", "14.1", "13.9"}
	for i, f := range fields {
		if f == grading.Moisture {
			out = append(out, moist[min(i, 2)])
			continue
		}
		out = append(out, f.Example())
	}
	if len(out) == 0 {
		return ""
	}
	return ask.Example(t, out...)
}

// what names the fields asked, each once: moisture, then grams, then counts.
func what(t *talk.Talk, fields []grading.Field) string {
	var moisture, grams, counts []string
	for i, f := range fields {
		if i > 0 && fields[i-1] == f {
			continue
		}
		switch name := t.Say("field." + f.String()); f.Kind() {
		case grading.PercentField:
			moisture = append(moisture, t.Say("ask.repeats", "count", ask.Count(fields, f)))
		case grading.WeightField:
			grams = append(grams, name)
		default:
			counts = append(counts, name)
		}
	}
	out := moisture
	if len(grams) > 0 {
		out = append(out, t.Say("ask.grams", "what", strings.Join(grams, ", ")))
	}
	if len(counts) > 0 {
		out = append(out, t.Say("ask.counts", "what", strings.Join(counts, ", ")))
	}
	return strings.Join(out, "; ")
}

// names lists the fields' names alone.
func names(t *talk.Talk, fields []grading.Field) string {
	var out []string
	for _, f := range fields {
		out = append(out, t.Say("field."+f.String()))
	}
	return strings.Join(out, ", ")
}
