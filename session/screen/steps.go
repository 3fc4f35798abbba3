package screen

import (
	"errors"
	"slices"
	"strings"

	"threshline/grading"
	"threshline/grading/chance"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/people"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// steps are the screens that take readings: one for each group of both kinds
// of channel, so that a check begun by one can be ended by the other.
func steps() []talk.Screen {
	var all []talk.Screen
	for _, g := range slices.Concat(ussdGroups, smsGroups) {
		all = append(all, talk.Screen{
			ID:   g.id,
			Show: func(t *talk.Talk) talk.Shown { return showGroup(t, g) },
			Take: func(t *talk.Talk, entry string) talk.Move { return takeGroup(t, g, entry) },
			Zero: func(t *talk.Talk) bool { return mayBeZero(t, g) },
			Help: func(t *talk.Talk) string { return groupHelp(t, g) },
		})
	}
	step := talk.Screen{
		ID:   talk.StepScreen,
		Show: func(t *talk.Talk) talk.Shown { return showGroup(t, current(t)) },
		Take: func(t *talk.Talk, entry string) talk.Move { return takeGroup(t, current(t), entry) },
		Zero: func(t *talk.Talk) bool { return mayBeZero(t, current(t)) },
		Help: func(t *talk.Talk) string { return groupHelp(t, current(t)) },
	}
	return append(all, step)
}

// current is the group that is asked now.
func current(t *talk.Talk) group {
	for _, g := range groups(t) {
		if len(missing(t, g)) > 0 {
			return g
		}
	}
	return groups(t)[0]
}

func showGroup(t *talk.Talk, g group) talk.Shown {
	still := missing(t, g)
	if len(still) == 0 { // come back to: it is asked for anew
		still = fresh(t, g)
	}
	if t.Led() { // what was wrong and an example stand above already
		return ask.Says(t.Say("ask.again", "what", what(t, still)))
	}
	key, asked := "ask."+string(g.id), ""
	if g.id == "husk" && !slices.Equal(still, []grading.Field{grading.BrownWeight, grading.ImmatureWeight}) {
		key = "ask.husked" // nothing unsaid is to be put aside between two weights
	}
	if len(still) < len(fresh(t, g)) {
		key = "ask.still"
	}
	if key == "ask.still" || g.id == "first" || g.id == "second" {
		asked = what(t, still)
	} else {
		asked = names(t, still)
	}
	shown := ask.Says(t.Say(key, "what", asked, "like", like(t, still)))
	if t.In.Kind == session.SMS && g.id == "first" && key != "ask.still" {
		if lead := spearShort(t); t.Fits(lead + "\n" + shown.Text + "\n" + t.Say("foot.how")) {
			shown.Text = lead + "\n" + shown.Text
		}
	}
	if len(still) > 0 {
		tool := t.Say("tool." + string(toolFor(still[0])))
		if lack := t.Say("ask.lack", "tool", tool); t.Fits(shown.Text + "\n" + lack + "\n" + t.Say("foot.how")) {
			shown.Options = append(shown.Options, lack)
		}
	}
	return shown
}

// fresh lists the group's fields as if nothing had come yet.
func fresh(t *talk.Talk, g group) []grading.Field {
	out := make([]grading.Field, 0, len(g.fields)+repeats-1)
	for _, f := range wanted(t, g) {
		n := 1
		if f == grading.Moisture {
			n = repeats
		}
		for range n {
			out = append(out, f)
		}
	}
	return out
}

func mayBeZero(t *talk.Talk, g group) bool {
	still := missing(t, g)
	if len(still) == 0 {
		return false
	}
	switch still[0] {
	case grading.Moisture, grading.SampleWeight, grading.CleanWeight, grading.BrownWeight, grading.Counted:
		return false
	}
	return true
}

// groupHelp is the help on the reading that is asked next.
func groupHelp(t *talk.Talk, g group) string {
	if g.id != "first" && g.id != "second" {
		return "help." + string(g.id)
	}
	if still := missing(t, g); len(still) > 0 {
		for _, u := range ussdGroups {
			if slices.Contains(u.fields, still[0]) {
				return "help." + string(u.id)
			}
		}
	}
	return "help.general"
}

func takeGroup(t *talk.Talk, g group, entry string) talk.Move {
	draft := t.Draft()
	if draft == nil {
		return talk.Home("")
	}
	still := missing(t, g)
	if len(still) == 0 {
		still = fresh(t, g)
	}
	switch {
	case mayBeZero(t, g) && t.Hears("shorthand.zero", entry): // nothing was found
		return record(t, g, still, make([]talk.Typed, len(still)))
	case entry == ask.LackKey, t.Hears("accept.none", entry) && len(missing(t, g)) == len(fresh(t, g)):
		return talk.Go(lackScreen)
	}
	if len(still) == 0 {
		return talk.Go(nextStep(t))
	}
	numbers, why := talk.ReadNumbers(entry)
	if why == talk.NotNumber {
		if move, ok := worded(t, g, still, entry); ok {
			return move
		}
	}
	if why != "" {
		return ask.Misread(t, why, like(t, still))
	}
	if move, asks := ask.WithoutPoints(t, still, numbers); asks {
		return move
	}
	if move, asks := runTogether(t, still, entry); asks {
		return move
	}
	return record(t, g, still, numbers)
}

// worded takes a clear answer in words: "14 percent", "no stones", "2 red". An
// unclear one is asked again like any entry that is not a number.
func worded(t *talk.Talk, g group, still []grading.Field, entry string) (talk.Move, bool) {
	lot, ok := inWords(t, still[0].String(), entry)
	fields, own := grading.SetOf(lot.Unable...), grading.SetOf(fresh(t, g)...)
	for _, f := range grading.Fields() {
		if lot.Readings.Has(f) {
			fields = fields.With(f)
		}
	}
	switch {
	case !ok || lot.Bags > 0 || lot.KG > 0 || fields == 0 || fields&^own != 0:
		return talk.Move{}, false
	case fields == grading.SetOf(grading.Moisture) && len(lot.Unable) == 0:
		var numbers []talk.Typed
		for _, d := range lot.Readings.Repeats {
			numbers = append(numbers, talk.Typed{Value: d, Small: d})
		}
		return record(t, g, still, numbers), true
	}
	for _, f := range lot.Unable {
		t.Skip(f)
	}
	merge(t, t.Draft(), &lot.Readings, true)
	return talk.Go(nextStep(t)), true
}

// inWords reads the answer to a step that asks for a list of words, where all of
// it is understood and it speaks of readings alone.
func inWords(t *talk.Talk, key, entry string) (shorthand.Lot, bool) {
	message, problems := ask.Reader(t).Answer(key, entry)
	if len(problems) > 0 || len(message.Lots) != 1 {
		return shorthand.Lot{}, false
	}
	lot := message.Lots[0]
	bare := lot.Slip == "" && lot.Grower == shorthand.Grower{} && len(lot.Readings.Flags) == 0 && lot.Readings.Looked == grading.NotRecorded
	return lot, bare
}

// record takes numbers as the missing fields, in order. It keeps all of an
// entry or nothing.
func record(t *talk.Talk, g group, still []grading.Field, numbers []talk.Typed) talk.Move {
	draft := t.Draft()
	numbers, first := parts(still, remaining(t, g), numbers)
	v, problem := measures(t, still, numbers)
	if problem != nil {
		return *problem
	}
	readings := draft.Readings.Clone()
	total, v := panTotal(still, v)
	rest := v[min(len(still), len(v)):]
	anew := len(missing(t, g)) == 0
	if all := fresh(t, g); len(v) == len(all) && len(rest) != len(remaining(t, g)) { // all of it once more
		still, rest, anew = all, nil, true
	}
	if len(rest) > 0 && len(rest) != len(remaining(t, g)) {
		return talk.Refuse(t.Say("wrong.many", "got", len(v), "want", len(still), "like", like(t, still)))
	}
	fields := still[:min(len(still), len(v))]
	if anew { // a second answer replaces the first, as far as it goes
		for _, f := range fields {
			readings.Unset(f)
		}
		if len(fields) == len(still) && slices.Contains(panFields, fields[len(fields)-1]) {
			readings.Unset(grading.Counted)
		}
	}
	if total > 0 {
		readings.Set(grading.Counted, total)
	}
	for i, f := range fields {
		if f == grading.Moisture {
			readings.Repeats, readings.Meter = append(readings.Repeats, v[i]), t.Meter()
			continue
		}
		readings.Set(f, v[i])
		if f == grading.Stones { // what is said of them now is all that is known
			readings.Unset(grading.SandWeight)
			if sand, apart := first[i]; apart {
				readings.Set(grading.SandWeight, sand)
			}
		}
		if slices.Contains(panFields, f) && !readings.Has(grading.Counted) {
			readings.Set(grading.Counted, panHollows)
		}
	}
	shed(t, draft, &readings, fields)
	if move := impossible(t, &readings, still); move != nil {
		return *move
	}
	draft.Readings = readings
	for _, f := range fields {
		t.Touch(f)
		if f == grading.Stones && readings.Has(grading.SandWeight) {
			t.Touch(grading.SandWeight)
		}
	}
	later := make([]string, len(rest))
	for i, d := range rest {
		later[i] = d.String()
		if fell, apart := first[len(v)-len(rest)+i]; apart {
			later[i] = fell.String() + "+" + (d - fell).String()
		}
	}
	return onward(t, g, strings.Join(later, " "))
}

// panHollows is how many grains a counting pan holds: common practice, no source.
const panHollows = 100 * ask.Whole

// onward leads from a group to a doubt about it, to what is left of it, or to
// the next step.
func onward(t *talk.Talk, g group, rest string) talk.Move {
	if doubtful(t) {
		return talk.Go(doubtScreen)
	}
	if len(missing(t, g)) > 0 {
		return talk.Stay(coarse(t, g))
	}
	return talk.GoWith(nextStep(t), rest).Saying(coarse(t, g))
}

// coarse says when the scale cannot tell the grades apart on a sample as small
// as the one that was weighed. It stops nobody: the grade will say so too.
func coarse(t *talk.Talk, g group) string {
	sample, ok := t.Draft().Readings.Get(grading.SampleWeight)
	if !ok || !slices.Contains(g.fields, grading.SampleWeight) {
		return ""
	}
	need := grading.Decimal(0)
	for _, c := range chance.TooCoarse(t.Programme.Standard, t.Draft().Readings.Class, sample, people.ScaleStep(t)) {
		need = max(need, c.NeedGrams)
	}
	if need == 0 {
		return ""
	}
	return t.Say("ask.coarse", "step", t.Number(people.ScaleStep(t)), "grams", t.Number(need))
}

// remaining are the fields still to come after a group.
func remaining(t *talk.Talk, g group) []grading.Field {
	var out []grading.Field
	for _, later := range groups(t) {
		if later.id != g.id {
			out = append(out, missing(t, later)...)
		}
	}
	return out
}

// panTotal takes the number of grains off the front when one number more came
// than there are counts and it is the largest: "400 3 8 2 6".
func panTotal(still []grading.Field, v []grading.Decimal) (grading.Decimal, []grading.Decimal) {
	counts := 0
	for _, f := range still {
		if slices.Contains(panFields, f) {
			counts++
		}
	}
	if counts == len(still) && len(v) == counts+1 && v[0] >= 50*ask.Whole && v[0] == slices.Max(v) {
		return v[0], v[1:]
	}
	return 0, v
}

// impossible asks again when readings contradict each other.
func impossible(t *talk.Talk, r *grading.Readings, still []grading.Field) *talk.Move {
	err := r.Check()
	if err == nil {
		return nil
	}
	like := like(t, still)
	var wide *grading.RangeError
	var part *grading.WholeError
	move := talk.Refuse(t.Say("wrong.number", "like", like))
	switch {
	case errors.As(err, &part):
		move = talk.Refuse(t.Say("wrong.whole", "value", t.Number(part.Got), "like", like))
	case errors.As(err, &wide) && wide.Over != grading.NoField:
		move = talk.Refuse(t.Say("wrong.part", "part", t.Say("field."+wide.Field.String()), "value", t.Number(wide.Got),
			"whole", t.Say("field."+wide.Over.String()), "limit", t.Number(wide.Max)))
	case errors.As(err, &wide) && wide.Got == 0:
		move = talk.Refuse(t.Say("wrong.zero", "what", t.Say("field."+wide.Field.String())))
	case errors.As(err, &wide) && wide.Field.Kind() == grading.WeightField:
		move = talk.Refuse(t.Say("wrong.weight", "value", t.Number(wide.Got), "like", like))
	case errors.As(err, &wide):
		move = talk.Refuse(t.Say("wrong.count", "value", t.Number(wide.Got), "like", like))
	}
	return &move
}
