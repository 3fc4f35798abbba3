package screen

import (
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/people"
	"threshline/session/talk"
)

// The screens before the first reading.
const (
	whoseScreen session.ScreenID = "whose"
	bagsScreen  session.ScreenID = "bags"
	spearScreen session.ScreenID = "spear"
)

// spearHelp is how to spear; the rule for choosing the bags comes after it.
const spearHelp = "help.spear"

// startCheck begins a check. An agent says whose paddy it is; a grower does not
// have to. Nothing is stored until the first number comes.
func startCheck(t *talk.Talk, rest string) talk.Move {
	if len(t.Dialogue.Drafts) >= talk.MostDrafts {
		return talk.Refuse(t.Say("bags.full"))
	}
	if ask.Agents(t) {
		return talk.GoWith(whoseScreen, rest)
	}
	return beginFor(t, t.Person, rest)
}

// beginFor begins a check of a grower's lot. If a check from a message that
// named no grower is under way, it gives that check the grower.
func beginFor(t *talk.Talk, grower session.Person, rest string) talk.Move {
	if draft := t.Draft(); draft != nil && draft.Lot.Grower == "" {
		draft.Lot.Grower, draft.Lot.District, draft.Lot.Village = grower.ID, grower.District, grower.Village
		move := talk.GoWith(nextStep(t), rest)
		if isHand(draft) && ask.Agents(t) && grower.ID != t.Person.ID {
			return move.Saying(people.Line(t, grower))
		}
		return move
	}
	lot := session.Lot{Grower: grower.ID, District: grower.District, Village: grower.Village}
	if t.NewDraft(lot) == nil {
		return talk.Refuse(t.Say("bags.full"))
	}
	move := talk.GoWith(bagsScreen, rest)
	if ask.Agents(t) && grower.ID != t.Person.ID { // a number is soon mistyped: say whose it is
		return move.Saying(people.Line(t, grower))
	}
	return move
}

func takeWhose(t *talk.Talk, entry string) talk.Move {
	t.Memo().ForCheck = true
	if ask.First(entry) == people.AddKey {
		return talk.Go(people.AddNameScreen)
	}
	grower, found, move := people.Find(t, ask.First(entry), entry)
	if !found {
		return move
	}
	return beginFor(t, grower, ask.After(entry))
}

// bagsLike is the example entry.
func bagsLike(t *talk.Talk) string {
	if t.Programme.BagKG > 0 {
		return ask.Example(t, "8")
	}
	return ask.Example(t, "8", "75")
}

func showBags(t *talk.Talk) talk.Shown {
	draft := t.Draft()
	switch {
	case draft != nil && draft.Lot.Bags > 0 && draft.Lot.BagKG == 0:
		return ask.Says(t.Say("bags.kg", "bags", draft.Lot.Bags, "like", ask.Example(t, "75")))
	case t.Programme.BagKG > 0:
		return ask.Says(t.Say("bags.ask_default", "kg", t.Number(t.Programme.BagKG), "like", ask.Example(t, "8", "60")))
	}
	return ask.Says(t.Say("bags.ask", "like", bagsLike(t)))
}

func takeBags(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	like := ask.Example(t, "8", "75")
	numbers, why := talk.ReadNumbers(entry)
	if why == talk.NotNumber { // "8 bags of 75", "8x75"
		if v, ok := bagsInWords(t, entry); ok {
			return setLot(t, draft, v, like)
		}
	}
	if why != "" {
		return ask.Misread(t, why, like)
	}
	v := ask.Values(numbers)
	if move, asks := oddLot(t, v); asks && !t.Sure {
		return move
	}
	if more := len(v) - 2; more > 0 && (draft.Correcting || more != len(stillOf(t))) {
		return talk.Refuse(t.Say("wrong.bags", "like", like))
	}
	if draft.Lot.Bags > 0 && draft.Lot.BagKG == 0 && len(v) == 1 {
		v = append([]grading.Decimal{grading.NewDecimal(draft.Lot.Bags)}, v...)
	}
	return setLot(t, draft, v, like)
}

// bagsInWords reads bags in words, such as "8 bags of 75" or "a heap of 600 kg":
// how many and the kg of one, or 0 and the kg of all.
func bagsInWords(t *talk.Talk, entry string) ([]grading.Decimal, bool) {
	lot, ok := inWords(t, "bags", entry)
	bags := grading.NewDecimal(lot.Bags)
	switch {
	case !ok || lot.Fields() == 0 || lot.Fields() > 2:
		return nil, false
	case lot.Bags > 0 && lot.KG == 0 && lot.BagKG > 0 && lot.Fields() == 1:
		return []grading.Decimal{bags, lot.BagKG}, true
	case lot.Bags > 0 && lot.KG == 0 && lot.Fields() == 1:
		return []grading.Decimal{bags}, true
	case lot.Bags > 0 && lot.KG > 0:
		return []grading.Decimal{bags, lot.KG / grading.Decimal(lot.Bags)}, true
	case lot.KG > 0 && lot.Fields() == 1:
		return []grading.Decimal{0, lot.KG}, true
	}
	return nil, false
}

// The bounds of a lot: wide enough for any buyer's truck. Source: assumed.
const (
	mostBags   = 5000
	mostBagKG  = 150 * ask.Whole
	leastBagKG = 5 * ask.Whole
)

// Lots that are possible but odd: the person is asked about them. Source:
// assumed.
const (
	manyBags   = 200 // said alone: perhaps they are kg
	fewKG      = 20  // in a bag, of more bags than that: perhaps the other way round
	swappedMax = 150
)

// oddLot asks about bags and kg that may be meant otherwise: "600" as kg, "8 600"
// as the kg of all bags, "75 8" the other way round.
func oddLot(t *talk.Talk, v []grading.Decimal) (talk.Move, bool) {
	bags, rest := v[0], ""
	n, whole := ask.IntOf(bags)
	if len(v) > 2 {
		rest = " " + ask.Typed(v[2:])
	}
	switch {
	case !whole || n < 1 || n > mostBags:
	case len(v) == 1 && n >= manyBags && t.Programme.BagKG > 0 && t.Draft().Lot.Bags == 0:
		return ask.Back(t, t.Say("bags.many", "bags", n, "kg", t.Number((t.Programme.BagKG*grading.Decimal(n)).Round(0))), ask.Typed(v), ""), true
	case len(v) < 2:
	case v[1] > mostBagKG && v[1] <= ask.MostHeapKG:
		each := v[1] / grading.Decimal(n)
		return ask.Back(t, t.Say("bags.total", "bags", n, "kg", t.Number(v[1])), ask.Typed([]grading.Decimal{bags, each})+rest, ""), true
	case v[1] >= leastBagKG && v[1] < fewKG*grading.One && bags >= fewKG*grading.One && n <= swappedMax && v[1]%grading.One == 0:
		return ask.Back(t, t.Say("bags.swapped", "bags", t.Number(v[1]), "kg", n), ask.Typed([]grading.Decimal{v[1], bags})+rest, ask.Typed(v)), true
	}
	return talk.Move{}, false
}

func setLot(t *talk.Talk, draft *session.Draft, v []grading.Decimal, like string) talk.Move {
	bags, ok := ask.IntOf(v[0])
	if !ok || bags > mostBags || bags == 0 && len(v) < 2 {
		return talk.Refuse(t.Say("wrong.bag_count", "value", t.Number(v[0]), "like", like))
	}
	kg := t.Programme.BagKG
	if len(v) > 1 {
		kg = v[1]
	}
	switch {
	case bags == 0 && (kg < ask.Whole || kg > ask.MostHeapKG):
		return talk.Refuse(t.Say("wrong.heap_kg", "value", t.Number(kg), "like", ask.Example(t, "0", "600")))
	case bags > 0 && len(v) > 1 && !t.Sure && (kg < leastBagKG || kg > mostBagKG):
		return talk.Refuse(t.Say("wrong.bag_kg", "value", t.Number(kg), "like", like))
	}
	draft.Lot.Bags, draft.Lot.BagKG, draft.Lot.KG = bags, kg, kg*grading.Decimal(bags)
	if bags == 0 {
		draft.Lot.BagKG, draft.Lot.KG = 0, kg
	}
	t.Touch(grading.NoField)
	if kg == 0 {
		return talk.Stay("")
	}
	if draft.Correcting {
		return talk.Go(sumScreen)
	}
	if rest := ask.Typed(v[min(2, len(v)):]); rest != "" {
		return talk.GoWith(nextStep(t), rest)
	}
	switch {
	case t.In.Kind == session.SMS && t.Sure && ready(t, draft): // all the rest came with it
		return file(t)
	case isHand(draft):
		return talk.Go(nextStep(t))
	case offeredFirst(t):
		return talk.Go(handOfferScreen)
	case t.In.Kind == session.SMS:
		return talk.Go(nextStep(t))
	}
	return talk.Go(spearScreen)
}

func showSpear(t *talk.Talk) talk.Shown { return ask.Says(spearText(t), t.Say("spear.next")) }

func takeSpear(t *talk.Talk, _ *session.Draft, entry string) talk.Move {
	if n, rest := ask.Choice(entry); n == 1 || ask.Yes(t, strings.ToLower(entry)) {
		return talk.GoWith(nextStep(t), rest)
	}
	return ask.WrongChoice(t)
}
