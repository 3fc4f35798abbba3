// Package dry has the screens that say how far to dry a lot, and what will be left
// of it, without a check.
package dry

import (
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

const (
	Screen        session.ScreenID = "dry"
	dryKGScreen   session.ScreenID = "dry-kg"
	dryKeepScreen session.ScreenID = "dry-keep"
	dryPlanScreen session.ScreenID = "dry-plan"
	TestScreen    session.ScreenID = "dry-test" // for somebody without a meter; not of this room
)

// NotWeighedKG is the weight we answer for when nobody weighed the lot: any
// other weight is easily reckoned from it.
const NotWeighedKG = 100 * ask.Whole

// Screens answers "how far to dry, and what will be left?" without a check.
func Screens() []talk.Screen {
	return []talk.Screen{
		{ID: Screen, Show: showDry, Take: takeDry, Help: ask.Helpful("help.dry")},
		{ID: dryKGScreen, Show: showDryKG, Take: takeDryKG, Help: ask.Helpful("help.dry")},
		{ID: dryKeepScreen, Show: showDryKeep, Take: takeDryKeep, Help: ask.Helpful("help.keep")},
		{ID: dryPlanScreen, Show: showDryPlan, Take: takeDryPlan, Help: ask.Helpful("help.keep")},
	}
}

// keepings lists what a lot can be kept for, in the order of the screen's
// numbers. The days are the longest time that a line stands for, as KeepTarget
// counts them.
var keepings = []struct {
	key  string
	use  advice.Use
	days int
}{
	{"dry.sell", advice.Food, 21},
	{"dry.months", advice.Food, 120},
	{"dry.year", advice.Food, 365},
	{"dry.seed", advice.Seed, 365},
	{"dry.years", advice.Food, 730},
}

// dryLot is what the person has said of the lot; 0 for what is missing. It
// stays until they type another, so that neither a step back nor a dropped
// session loses it.
func dryLot(t *talk.Talk) (from, kg grading.Decimal) {
	return t.Memo().DryFrom, t.Memo().DryKG
}

// dryLotText says the lot back, so that a slip of the finger is seen.
func dryLotText(t *talk.Talk) string {
	from, kg := dryLot(t)
	if kg == 0 {
		return t.Number(from) + t.Say("unit.percent")
	}
	return t.Say("dry.lot", "from", t.Number(from), "kg", t.Number(kg))
}

func showDry(t *talk.Talk) talk.Shown {
	shown := ask.Question(t, t.Say("dry.ask", "like", ask.Example(t, "18.5", "600")))
	if from, _ := dryLot(t); from > 0 {
		shown.Options = append(shown.Options, t.Say("dry.again", "lot", dryLotText(t)))
	}
	shown.Options = append(shown.Options, t.Say("ask.lack", "tool", t.Say("tool."+string(session.Meter))))
	return shown
}

// takeDry takes the moisture, and the kg if they came along, and what it is
// kept for if that did.
func takeDry(t *talk.Talk, entry string) talk.Move {
	like := ask.Example(t, "18.5", "600")
	if entry == ask.LackKey || t.Hears("accept.none", entry) {
		return talk.Go(TestScreen)
	}
	if from, kg := dryLot(t); entry == "1" && from > 0 {
		if kg == 0 {
			return talk.Go(dryKGScreen)
		}
		return talk.Go(dryKeepScreen)
	}
	numbers, why := talk.ReadNumbers(entry)
	if why != "" {
		return ask.Misread(t, why, like)
	}
	if len(numbers) > 1 && numbers[1].Percent && !numbers[0].Percent { // "600 kg 18 %"
		numbers[0], numbers[1] = numbers[1], numbers[0]
	}
	v := ask.Values(numbers)
	if move, asks := oddDrying(t, numbers, entry); asks {
		return move
	}
	switch {
	case v[0] < ask.LeastMoisture || v[0] > ask.MostMoisture:
		return talk.Refuse(t.Say("wrong.moisture", "value", t.Number(v[0]), "like", like))
	case len(v) > 3 || len(v) > 1 && !heapKG(v[1]):
		return talk.Refuse(t.Say("wrong.dry", "like", like))
	}
	t.Memo().DryFrom = v[0]
	if len(v) == 1 {
		return talk.Go(dryKGScreen)
	}
	t.Memo().DryKG = v[1]
	return talk.GoWith(dryKeepScreen, ask.Typed(v[2:]))
}

// oddDrying asks about "18,600", which may be 18 % and 600 kg, and about a moisture
// typed without its point, "185 600".
func oddDrying(t *talk.Talk, numbers []talk.Typed, entry string) (talk.Move, bool) {
	if numbers[0].Thousands && numbers[0].Value > ask.MostMoisture {
		from, kg, _ := strings.Cut(ask.First(entry), ",")
		if two, why := talk.ReadNumbers(from + " " + kg); why == "" && len(two) == 2 && two[0].Value >= ask.LeastMoisture && two[0].Value <= ask.MostMoisture && heapKG(two[1].Value) {
			meant := ask.Typed(ask.Values(append(two, numbers[1:]...)))
			return ask.Back(t, t.Say("dry.apart", "from", t.Number(two[0].Value), "kg", t.Number(two[1].Value)), meant, ""), true
		}
	}
	return ask.WithoutPoints(t, []grading.Field{grading.Moisture}, numbers)
}

// heapKG reports whether a lot can have this weight.
func heapKG(kg grading.Decimal) bool { return kg >= ask.Whole && kg <= ask.MostHeapKG }

func showDryKG(t *talk.Talk) talk.Shown {
	from, kg := dryLot(t)
	shown := ask.Question(t, t.Say("dry.kg", "from", t.Number(from), "like", ask.Example(t, "600")))
	if kg > 0 {
		shown.Options = append(shown.Options, t.Say("dry.kg_before", "number", 1, "kg", t.Number(kg)))
	}
	shown.Options = append(shown.Options, t.Say("dry.kg_not", "number", len(shown.Options)+1, "kg", t.Number(NotWeighedKG)))
	return shown
}

// takeDryKG takes the kg. Nobody dries a lot of 1 or 2 kg: those are choices.
func takeDryKG(t *talk.Talk, entry string) talk.Move {
	_, kg := dryLot(t)
	none := 1
	if kg > 0 {
		none = 2
	}
	n, rest := ask.Choice(entry)
	switch {
	case rest == "" && n == none, t.Hears("accept.none", entry):
		t.Memo().DryKG = NotWeighedKG
		return talk.Go(dryKeepScreen)
	case rest == "" && n == 1:
		return talk.Go(dryKeepScreen)
	case ask.Several(entry): // the whole lot once more
		return talk.BackWith(entry)
	}
	like := ask.Example(t, "600")
	numbers, why := talk.ReadNumbers(entry)
	switch {
	case why != "":
		return ask.Misread(t, why, like)
	case !heapKG(numbers[0].Value):
		return talk.Refuse(t.Say("wrong.heap_kg", "value", t.Number(numbers[0].Value), "like", like))
	}
	t.Memo().DryKG = numbers[0].Value
	return talk.Go(dryKeepScreen)
}

func showDryKeep(t *talk.Talk) talk.Shown {
	shown := ask.Question(t, t.Say("dry.keep", "lot", dryLotText(t)))
	for _, k := range keepings {
		shown.Options = append(shown.Options, t.Say(k.key))
	}
	return shown
}

func takeDryKeep(t *talk.Talk, entry string) talk.Move {
	if ask.Several(entry) {
		return talk.BackWith(entry)
	}
	n, _ := ask.Choice(entry)
	if n < 1 || n > len(keepings) {
		return ask.WrongChoice(t)
	}
	t.Memo().DryKeep = n
	return talk.Go(dryPlanScreen)
}

// takeDryPlan takes the next lot; there is nothing else to send.
func takeDryPlan(t *talk.Talk, entry string) talk.Move {
	if ask.Several(entry) {
		return talk.BackWith(entry)
	}
	return ask.Nothing(t, entry)
}
