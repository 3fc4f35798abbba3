package screen

import (
	"slices"
	"strconv"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

// What is asked to be counted off and husked, from how many bags. Source: our
// choice, what hands can do in a quarter of an hour.
const (
	countOff    = 200
	huskOff     = 50
	handfulsOff = 3
)

// The examples: the same invented lot as in the grammar of whole messages.
const (
	countLike = "200 12 1 6"
	huskLike  = "50 4 0 1"
)

// toHusk is how many grains to husk: all that are not empty where few were counted.
func toHusk(h *grading.Hand) int { return max(0, min(huskOff, int(h.Grains)-int(h.Empty))) }

// huskExample is an example for so many grains.
func huskExample(n int) string {
	if n < huskOff {
		return strconv.Itoa(n) + " 0 0 0"
	}
	return huskLike
}

// handfuls is from how many bags a handful is taken.
func handfuls(lot *session.Lot) uint16 {
	if lot.Bags > 0 {
		return uint16(min(lot.Bags, handfulsOff))
	}
	return handfulsOff
}

func handfulText(t *talk.Talk, lot *session.Lot) string {
	switch {
	case lot.Bags == 0 && lot.KG > 0:
		return t.Say("hand.heap")
	case lot.Bags > 0 && lot.Bags <= handfulsOff:
		return t.Say("hand.each")
	}
	return t.Say("hand.bags", "count", handfulsOff)
}

func showHandCount(t *talk.Talk) talk.Shown {
	draft := t.Draft()
	if draft == nil {
		return ask.Says(t.Say("unfinished.none"))
	}
	if t.Led() { // what is wrong and an example stand above already
		return ask.Says(t.Say("ask.again", "what", t.Say("hand.counted")))
	}
	return ask.Says(t.Say("hand.count", "where", handfulText(t, &draft.Lot), "like", countLike))
}

func showHandHusk(t *talk.Talk) talk.Shown {
	draft := t.Draft()
	if draft == nil {
		return ask.Says(t.Say("unfinished.none"))
	}
	if t.Led() {
		return ask.Says(t.Say("ask.again", "what", t.Say("hand.husked")), t.Say("hand.bare"))
	}
	n := toHusk(&draft.Readings.Hand)
	return ask.Says(t.Say("hand.husk", "count", n, "like", huskExample(n)), t.Say("hand.bare"))
}

func takeHandCount(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	v, rest, move := countAsk(t).read(t, entry)
	if move != nil {
		return *move
	}
	h := draft.Readings.Hand
	setCounts(&h, 0, v)
	h.Handfuls = handfuls(&draft.Lot)
	alone := grading.Hand{Grains: h.Grains, Empty: h.Empty, Stones: h.Stones, Green: h.Green}
	if fault, ok := alone.Fault(); ok {
		return talk.Refuse(faultText(t, fault, alone, countLike))
	}
	if _, ok := h.Fault(); ok { // what was husked was husked of others
		alone.Handfuls = h.Handfuls
		h = alone
	}
	draft.Readings.Hand = h
	t.Touch(grading.NoField)
	return handOnward(t, rest)
}

// mostHusked is more grains than anybody husks with a thumb. Source: our choice.
const mostHusked = 150

func takeHandHusk(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	h := draft.Readings.Hand
	if entry == ask.LackKey || t.Hears("accept.none", entry) && !t.Hears("shorthand.zero", entry) {
		h.Husked, h.Red, h.Bored, h.Discoloured = 0, 0, 0, 0
		draft.Readings.Hand = h
		makeSure(draft, bareSure)
		return handOnward(t, "")
	}
	sought := huskAsk(t, &h)
	v, _, move := sought.read(t, entry)
	if move != nil {
		return *move
	}
	if h.Grains >= mostHusked && slices.Equal(v, []uint16{h.Grains, h.Empty, h.Stones, h.Green}) { // the counts of before once more
		return talk.Stay("")
	}
	setCounts(&h, grading.HandCounts/2, v)
	if fault, ok := h.Fault(); ok {
		return talk.Refuse(faultText(t, fault, h, sought.like))
	}
	draft.Readings.Hand = h
	t.Touch(grading.NoField)
	return handOnward(t, "")
}

func countAsk(t *talk.Talk) handAsk {
	return handAsk{countOff, grading.HandCounts / 2, grading.HandCounts, t.Say("hand.counted"), countLike}
}

func huskAsk(t *talk.Talk, h *grading.Hand) handAsk {
	n := toHusk(h)
	return handAsk{n, grading.HandCounts / 2, grading.HandCounts / 2, t.Say("hand.husked"), huskExample(n)}
}

// handAsk is what a step asks for: how many grains, and how many of three kinds of
// them, once or twice.
type handAsk struct {
	grains     int // to be looked at
	want, most int // numbers
	what, like string
}

// read takes the numbers of a step. How many grains there were may be left out where
// as many were looked at as was asked for. rest are the numbers of the next step.
func (a handAsk) read(t *talk.Talk, entry string) (v []uint16, rest string, move *talk.Move) {
	const four = grading.HandCounts / 2
	refuse := func(m talk.Move) ([]uint16, string, *talk.Move) { return nil, "", &m }
	if t.Hears("shorthand.zero", entry) {
		return []uint16{uint16(a.grains), 0, 0, 0}, "", nil
	}
	numbers, why := talk.ReadNumbers(entry)
	if why != "" {
		return refuse(ask.Misread(t, why, a.like))
	}
	all := ask.Values(numbers)
	if n := len(all); (n == four-1 || n == 2*four-2) && all[0] < grading.NewDecimal(a.grains)/2 {
		all = append([]grading.Decimal{grading.NewDecimal(a.grains)}, all...)
	}
	if n := len(all); n > a.most || n != four && n != 2*four && n != 2*four-1 {
		return refuse(talk.Refuse(t.Say("hand.four", "got", len(numbers), "want", a.want, "what", a.what, "like", a.like)))
	}
	for _, d := range all {
		if d%ask.Whole != 0 {
			return refuse(talk.Refuse(t.Say("wrong.whole", "value", t.Number(d), "like", a.like)))
		}
		if d > grading.MostByHand*ask.Whole {
			return refuse(talk.Refuse(faultText(t, grading.HandTooMany, grading.Hand{}, a.like)))
		}
		v = append(v, uint16(d/ask.Whole))
	}
	return v[:four], ask.Typed(all[four:]), nil
}

// setCounts writes counts from the given place in their order on.
func setCounts(h *grading.Hand, from int, v []uint16) {
	counts := h.Counts()
	for i, n := range v {
		*counts[from+i] = n
	}
}

// faultText says why counts cannot be, and what right ones look like.
func faultText(t *talk.Talk, fault grading.HandFault, h grading.Hand, like string) string {
	return t.Say("hand_fault."+string(fault), "grains", h.Grains, "empty", h.Empty, "stones", h.Stones, "green", h.Green,
		"husked", h.Husked, "full", int(h.Grains)-int(h.Empty), "red", h.Red, "bored", h.Bored, "discoloured", h.Discoloured,
		"most", grading.MostByHand, "like", like)
}

// handLines are the lines of a check by hand in the summary, from the third.
func handLines(t *talk.Talk, number int) []sumLine {
	draft := t.Draft()
	h := &draft.Readings.Hand
	var lines []sumLine
	add := func(to session.ScreenID, key string, args ...any) {
		lines = append(lines, sumLine{t.Say(key, append(args, "number", number+len(lines))...), to})
	}
	wet := ""
	for _, f := range draft.Readings.Flags {
		if f.OfWater() {
			wet = t.Say("flag." + string(f))
		}
	}
	if !h.Made() && wet == "" { // stopped before
		return nil
	}
	switch {
	case wet == "" && draft.Readings.Has(grading.Moisture): // which has a line of its own
		wet = t.Say("line.gap")
	case wet == "": // dry or not tested, which is not kept
		wet = t.Say("hand.not_wet")
	}
	add(handBiteScreen, "hand.line_wet", "value", wet)
	if h.Made() {
		add(handCountScreen, "hand.line_count", "grains", h.Grains, "empty", h.Empty, "stones", h.Stones, "green", h.Green)
		if h.Husked > 0 {
			add(handHuskScreen, "hand.line_husk", "husked", h.Husked, "red", h.Red, "bored", h.Bored, "discoloured", h.Discoloured)
			return lines
		}
		none := t.Say("line.gap")
		add(handHuskScreen, "hand.line_husk", "husked", none, "red", none, "bored", none, "discoloured", none)
	}
	return lines
}

// handLike is the example of a whole check by hand in one message.
func handLike(t *talk.Talk) string {
	r := ask.Reader(t)
	return strings.Join([]string{countLike, huskLike, r.Example("bite"), r.Letter("looked")}, " ")
}

// showHandAll asks by SMS for all counts in one message.
func showHandAll(t *talk.Talk) talk.Shown {
	all := t.Say("hand.all", "like", handLike(t))
	if lead := t.Memo().Lead; t.Led() || lead != "" && !t.Fits(lead+"\n"+all) {
		return ask.Says(t.Say("ask.again", "what", t.Say("hand.counted")+"; "+t.Say("hand.husked")))
	}
	return ask.Says(all)
}

// takeHandAll takes numbers alone; with words they are read as a whole check.
func takeHandAll(t *talk.Talk, draft *session.Draft, entry string) talk.Move {
	sought := handAsk{countOff, grading.HandCounts, grading.HandCounts, t.Say("hand.counted") + "; " + t.Say("hand.husked"), handLike(t)}
	v, rest, move := sought.read(t, entry)
	if move != nil {
		return *move
	}
	h := grading.Hand{Handfuls: handfuls(&draft.Lot)}
	setCounts(&h, 0, v)
	if rest != "" {
		sought := huskAsk(t, &h)
		sought.like = handLike(t)
		later, _, move := sought.read(t, rest)
		if move != nil {
			return *move
		}
		setCounts(&h, len(v), later)
	}
	if fault, ok := h.Fault(); ok {
		return talk.Refuse(faultText(t, fault, h, sought.like))
	}
	draft.Readings.Hand = h
	t.Touch(grading.NoField)
	return handOnward(t, "")
}
