package screen

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

const (
	sumScreen   session.ScreenID = "sum"
	doubtScreen session.ScreenID = "doubt"
	classScreen session.ScreenID = "class"
)

// sumLine is one numbered line of the summary and the screen that corrects it.
type sumLine struct {
	text string
	to   session.ScreenID
}

// sumLines are the lines after "1 file it", from 2.
func sumLines(t *talk.Talk) []sumLine {
	draft := t.Draft()
	lot := t.Amount(draft.Lot)
	if t.Person.Role != session.Grower {
		lot = t.LotName(draft.Lot)
	}
	lines := []sumLine{{t.Say("line.lot", "number", 2, "lot", lot), bagsScreen}}
	if len(t.Programme.Standard.Classes) > 1 {
		text := t.Say("line.class", "number", 3, "class", className(t, classOf(t, &draft.Readings)))
		lines = append(lines, sumLine{text, classScreen})
	}
	if isHand(draft) {
		lines = append(lines, handLines(t, len(lines)+2)...)
	}
	for _, g := range ussdGroups {
		if fields := wanted(t, g); len(fields) > 0 || draftHas(t, g) {
			lines = append(lines, sumLine{groupLine(t, g, len(lines)+2), g.id})
		}
	}
	seen := t.Say("line.seen", "number", len(lines)+2, "value", signs.Text(t, &draft.Readings))
	return append(lines, sumLine{seen, seenScreen})
}

func draftHas(t *talk.Talk, g group) bool {
	return slices.ContainsFunc(g.fields, t.Draft().Readings.Has)
}

// groupLine is a group's readings on one line.
func groupLine(t *talk.Talk, g group, number int) string {
	r := &t.Draft().Readings
	value := func(f grading.Field) string {
		if v, ok := r.Get(f); ok {
			return t.Number(v)
		}
		return t.Say("line.gap")
	}
	switch g.id {
	case "moisture":
		if v, ok := r.Get(grading.Moisture); ok && r.Meter.Bias != 0 {
			return t.Say("line.moisture_true", "number", number, "value", repeatsText(t, r), "true", t.Number(v.Round(1)))
		}
		return t.Say("line.moisture_g", "number", number, "value", repeatsText(t, r))
	case "sample":
		return t.Say("line.sample", "number", number, "value", value(grading.SampleWeight))
	case "dirt":
		return t.Say("line.dirt", "number", number, "chaff", value(grading.Chaff), "stones", stonesText(t, r))
	}
	names := map[grading.Field]string{grading.CleanWeight: "clean", grading.BrownWeight: "brown", grading.BrokenWeight: "broken", grading.ImmatureWeight: "immature"}
	var parts []string
	if n, ok := r.Get(grading.Counted); ok && g.id == "pan" && n != panHollows {
		parts = append(parts, t.Say("line.counted", "value", value(grading.Counted)))
	}
	for _, f := range g.fields {
		if !r.Has(f) {
			continue
		}
		name := cmp.Or(names[f], f.String())
		parts = append(parts, t.Say("line."+name, "value", value(f)))
	}
	if len(parts) == 0 {
		parts = append(parts, what(t, wanted(t, g))+": "+t.Say("line.gap"))
	}
	return t.Say("line.other", "number", number, "value", strings.Join(parts, " "))
}

// stonesText is the stones' weight, in the parts that it was said in.
func stonesText(t *talk.Talk, r *grading.Readings) string {
	all, ok := r.Get(grading.Stones)
	sand, apart := r.Get(grading.SandWeight)
	switch {
	case !ok:
		return t.Say("line.gap")
	case apart:
		return t.Number(sand) + "+" + t.Number(all-sand)
	}
	return t.Number(all)
}

func repeatsText(t *talk.Talk, r *grading.Readings) string {
	var out []string
	for _, d := range r.Repeats {
		out = append(out, t.Number(d))
	}
	if len(out) == 0 {
		return t.Say("line.gap")
	}
	return strings.Join(out, " ")
}

func showSum(t *talk.Talk) talk.Shown {
	if t.Draft() == nil {
		return ask.Says(t.Say("unfinished.none"))
	}
	shown := ask.Says(t.Say("sum.title"), t.Say("line.file"))
	for _, l := range sumLines(t) {
		shown.Options = append(shown.Options, l.text)
	}
	if !t.Fits(shown.Text + "\n" + strings.Join(shown.Options, "\n")) {
		shown.Text = "" // the first line says what is asked
	}
	return shown
}

func takeSum(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	draft.Correcting = false
	n, rest := ask.Choice(entry)
	if n == 1 && rest == "" || ask.Yes(t, entry) {
		return file(t)
	}
	lines := sumLines(t)
	if n < 2 || n > len(lines)+1 {
		return ask.WrongChoice(t)
	}
	draft.Correcting = true
	return talk.GoWith(lines[n-2].to, rest)
}

// harmless reports whether a draft holds no sign and no danger that has to be told.
func harmless(t *talk.Talk, draft *session.Draft) bool {
	return len(draft.Readings.Flags) == 0 && len(t.Programme.Dangers(&session.Check{Readings: draft.Readings})) == 0
}

// file files the check, unless a doubt is still open.
func file(t *talk.Talk) talk.Move {
	draft := t.Draft()
	if doubtful(t) {
		return talk.Go(doubtScreen)
	}
	if unasked(t) {
		return talk.Go(agreeScreen)
	}
	if old, ok := t.Check(draft.Corrects); ok && old.State == session.Withdrawn && harmless(t, draft) { // meanwhile
		t.DropDraft()
		return talk.Home(t.Say("change.withdrawn", "slip", string(old.Slip)))
	}
	draft.Correcting = false
	open := len(stillOf(t)) > 0 || draft.Lot.KG == 0 || signsOpen(t) || smellOpen(draft)
	if isHand(draft) {
		open = handStep(t) != sumScreen
	}
	if open {
		return talk.Go(nextStep(t))
	}
	if maybeSame(t) {
		return talk.Go(sameScreen)
	}
	c, err := t.File()
	if err != nil {
		return talk.Refuse(t.Say("wrong.grade"))
	}
	t.Memo().Slip = c.Slip
	return answer.ShownOf(&c)
}

// classOf is the column of the standard that the lot is graded in.
func classOf(t *talk.Talk, r *grading.Readings) string {
	class, err := t.Programme.Standard.ClassOf(r)
	if err != nil {
		return t.Say("line.gap")
	}
	return class
}

// className is the catalogue's word for a class, or the standard's own.
func className(t *talk.Talk, class string) string {
	if key := "class." + class; t.Knows(key) {
		return t.Say(key)
	}
	return strings.ReplaceAll(class, "_", " ")
}

// showClasses lists the classes of a standard that has several. Nobody is
// asked for one: the summary shows the programme's usual one, which can be changed.
func showClasses(t *talk.Talk) talk.Shown {
	var options []string
	for i, class := range t.Programme.Standard.Classes {
		options = append(options, strconv.Itoa(ask.ListKey(i))+" "+className(t, class))
	}
	return ask.Says(t.Say("class.ask"), options...)
}

func takeClass(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	classes := t.Programme.Standard.Classes
	n, _ := ask.Choice(entry)
	place := ask.PlaceOf(n, len(classes))
	if place < 0 {
		return ask.WrongChoice(t)
	}
	draft.Readings.Class = classes[place]
	return talk.Go(nextStep(t))
}
