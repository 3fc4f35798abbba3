package screen

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/dry"
	"threshline/session/screen/people"
	"threshline/session/screen/signs"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// short takes whole checks in one message.
type short struct{ ask.Readers }

// Take reads a message. Every lot that is complete and not doubtful is filed;
// any other is kept as an unfinished check and asked about. "Dry 18 600" asks
// about drying, wherever the dialogue stands.
func (s short) Take(t *talk.Talk, text string) bool {
	r := s.Of(t)
	if t.Dialogue.Screen == handAllScreen && strings.IndexFunc(text, unicode.IsDigit) == 0 { // the counts that were asked for
		text = r.Letter("by_hand") + " " + text
	}
	if !r.Looks(text) {
		return false
	}
	message, problems := r.Parse(text)
	message.Lots = slices.DeleteFunc(message.Lots, func(l shorthand.Lot) bool { return l.Empty() })
	switch len(message.Lots) {
	case 0:
		if !spokeOfHand(&shorthand.Lot{}, problems) {
			return tooLong(t, problems)
		}
		takeOne(t, shorthand.Lot{}, problems)
	case 1:
		takeOne(t, message.Lots[0], problems)
	default:
		takeMany(t, message.Lots, problems)
	}
	return true
}

// Anywhere takes "dry 18 600", which asks about drying wherever the dialogue stands,
// and from an agent "add Asha, Kisima".
func (s short) Anywhere(t *talk.Talk, text string) bool {
	if names, enrols := people.AddWord(t, text); enrols {
		t.Make(talk.Home("")) // a lot that is under way is put aside
		t.Memo().ForCheck = false
		t.Make(talk.GoWith(people.AddNameScreen, names))
		return true
	}
	if handWord(t, text) {
		t.Make(talk.Home(""))
		t.Make(startHand(t, ""))
		return true
	}
	rest, ok := dry.Word(t, text)
	if !ok || !slices.Contains(lines(t), menuDrying) {
		return false
	}
	if lot, ok := dry.Danger(s.Of(t), text, rest); ok {
		takeOne(t, lot, nil)
		return true
	}
	t.Make(talk.GoWith(dry.Screen, rest))
	return true
}

// Caution is what must be said at once of a danger in a whole check that is not read
// yet; "" if none.
func (s short) Caution(t *talk.Talk, text string) string {
	message, _ := s.Of(t).Parse(text)
	for _, lot := range message.Lots {
		if caution := answer.Caution(t, lot.Readings.Flags); caution != "" {
			return caution
		}
	}
	return ""
}

// manyAlone reports whether so many bags are said without their kg that they may
// be kg. A danger is filed at once, however much there is of it.
func manyAlone(t *talk.Talk, lot *shorthand.Lot) bool {
	alone := lot.Bags >= manyBags && lot.BagKG == 0 && lot.KG == 0 && t.Programme.BagKG > 0
	return alone && len(lot.Readings.Flags) == 0 && !signs.Alive(&lot.Readings)
}

// tooLong says that a message is too long when no lot in it fits.
func tooLong(t *talk.Talk, problems []shorthand.Problem) bool {
	if !slices.ContainsFunc(problems, func(p shorthand.Problem) bool { return p.Trouble == shorthand.TooLong }) {
		return false
	}
	t.Make(talk.Home(t.Say("short.too_long")))
	return true
}

// takeOne files a lot and shows its grade, or asks for what is missing.
func takeOne(t *talk.Talk, lot shorthand.Lot, problems []shorthand.Problem) {
	problems, understood := heard(t, &lot, problems)
	byHand := spokeOfHand(&lot, problems)
	fault := handTrouble(t, &lot)
	trouble := append(fault, troubles(t, problems)...)
	draft, problem := draftFor(t, lot, understood)
	if draft == nil { // nothing of it is kept, so a danger is answered now
		t.Make(talk.Home(ask.Joined(answer.Caution(t, lot.Readings.Flags), problem)))
		return
	}
	if byHand {
		makeSure(draft, handSure)
	}
	if manyAlone(t, &lot) { // perhaps they are kg
		kg := t.Programme.BagKG * grading.Decimal(lot.Bags)
		draft.Lot.Bags, draft.Lot.BagKG, draft.Lot.KG = 0, 0, 0
		t.Make(ask.Back(t, t.Say("bags.many", "bags", lot.Bags, "kg", t.Number(kg.Round(0))), strconv.Itoa(lot.Bags), ""))
		t.Memo().MeantAt = bagsScreen
		t.Lead(strings.Join(trouble, "\n"))
		return
	}
	to := nextStep(t)
	if len(fault) > 0 && isHand(draft) && lot.Readings.Hand.Made() { // what was husked is asked again
		to = handHuskScreen
	}
	switch {
	case draft.Lot.Grower == "":
		trouble = append(trouble, nobody(t, lot.Grower))
	case doubtful(t):
		to = doubtScreen
	case len(trouble) == 0 && ready(t, draft) && sentTwice(t):
		t.Make(talk.Go(twiceScreen))
		return
	case len(trouble) == 0 && ready(t, draft):
		t.Make(file(t))
		if t.Dialogue.Screen == sameScreen { // not filed yet, and perhaps never
			t.Lead(answer.Caution(t, lot.Readings.Flags))
		}
		return
	}
	t.Make(talk.Go(to))
	switch caution := answer.Caution(t, lot.Readings.Flags); {
	case caution == "":
	case to == sumScreen && handStopped(t): // its counts do not matter
		trouble = []string{caution}
	default: // before anybody puts a hand in it
		trouble = append([]string{caution}, trouble...)
	}
	if len(trouble) == 0 {
		trouble = append(trouble, t.Say("short.noted"))
		if draft.Lot.KG > 0 { // what was understood of it, to be seen at once
			trouble[0] = answer.ShortAmount(t, draft.Lot) + "."
		}
	}
	t.Lead(strings.TrimSpace(strings.Join(trouble, "\n")))
}

// ready reports whether the draft has all that is asked for and nothing odd.
func ready(t *talk.Talk, draft *session.Draft) bool {
	if isHand(draft) { // by SMS it files without bags too
		return handStep(t) == sumScreen
	}
	return len(stillOf(t)) == 0 && !doubtful(t) && !signsOpen(t) && (draft.Lot.Bags > 0 || draft.Lot.KG > 0)
}

func stillOf(t *talk.Talk) []grading.Field {
	var out []grading.Field
	for _, g := range groups(t) {
		out = append(out, missing(t, g)...)
	}
	return out
}

// draftFor lays the lot's readings in a draft: the one under way when the
// message names no other grower or lot, else a new one. Without a draft the
// text says why.
func draftFor(t *talk.Talk, lot shorthand.Lot, understood bool) (*session.Draft, string) {
	draft := t.Draft()
	fresh := lot.Grower != shorthand.Grower{} || lot.Slip != ""
	if draft == nil || fresh && draft.Corrects == "" {
		var problem string
		if draft, problem = newDraft(t, lot); draft == nil {
			return nil, problem
		}
	}
	if lot.Bags > 0 {
		kg := cmp.Or(lot.BagKG, t.Programme.BagKG)
		draft.Lot.Bags, draft.Lot.BagKG, draft.Lot.KG = lot.Bags, kg, kg*grading.Decimal(lot.Bags)
	}
	if lot.KG > 0 {
		draft.Lot.KG = lot.KG
	}
	for _, f := range lot.Unable {
		t.Skip(f)
	}
	mergeHand(draft, &lot)
	merge(t, draft, &lot.Readings, understood)
	return draft, ""
}

func newDraft(t *talk.Talk, lot shorthand.Lot) (*session.Draft, string) {
	t.Make(talk.Home(""))
	if slip, ok := session.ParseSlip(lot.Slip); lot.Slip != "" {
		c, found := t.Check(slip)
		switch {
		case !ok || !found:
			return nil, t.Say("short.slip", "slip", lot.Slip)
		case !t.Concerns(c): // a buyer has slips of lots that are none of theirs
			return nil, t.Say("short.not_yours", "slip", lot.Slip)
		case c.State != session.Filed: // its readings are not to be gone on from
			return nil, t.SlipText(c)
		}
		if lot.Readings.ByHand() {
			return t.RecheckHand(c), t.Say("bags.full")
		}
		return t.Recheck(c), t.Say("bags.full")
	}
	grower := growerOf(t, lot.Grower)
	return t.NewDraft(session.Lot{Grower: grower.ID, District: grower.District, Village: grower.Village}), t.Say("bags.full")
}

// growerOf returns whose lot it is: the sender's own, or for an agent the
// grower named by number or name; nobody yet when no grower was named, or an
// unknown one.
func growerOf(t *talk.Talk, g shorthand.Grower) session.Person {
	if !ask.Agents(t) {
		return t.Person
	}
	for _, p := range people.Under(t) {
		if p.Short == g.Short && g.Short > 0 {
			return p
		}
	}
	if found := people.Named(t, g.Name); g.Short == 0 && g.Name != "" && len(found) == 1 {
		return found[0]
	}
	return session.Person{}
}

// nobody says that the grower named is not known; "" when none was named.
func nobody(t *talk.Talk, g shorthand.Grower) string {
	switch {
	case g.Short > 0:
		return t.Say("wrong.grower", "number", g.Short)
	case g.Name != "":
		return t.Say("whose.none", "name", t.CleanName(g.Name))
	}
	return ""
}

// merge adds what was read to a draft; later readings replace earlier ones.
// Moisture sent this way is taken as it came, once or three times. A word that
// was not understood may be a sign, so the signs are asked.
func merge(t *talk.Talk, draft *session.Draft, r *grading.Readings, understood bool) {
	for _, f := range grading.Fields() {
		v, ok := r.Get(f)
		switch {
		case !ok:
			continue
		case f == grading.Moisture:
			draft.Readings.Repeats, draft.Readings.Meter = slices.Clone(r.Repeats), t.Meter()
			draft.Skipped = append(draft.Skipped, f)
		default:
			draft.Readings.Set(f, v)
			if f == grading.Stones { // sand, if it was said, comes next
				draft.Readings.Unset(grading.SandWeight)
			}
		}
		t.Touch(f)
	}
	shed(t, draft, &draft.Readings, slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool { return !r.Has(f) }))
	if !draft.Readings.Has(grading.Stones) {
		draft.Readings.Unset(grading.SandWeight) // a part of nothing; the stones are asked for
	}
	counts := slices.ContainsFunc(panFields, draft.Readings.Has)
	if counts && !draft.Readings.Has(grading.Counted) {
		draft.Readings.Set(grading.Counted, panHollows)
	}
	switch {
	case !understood:
		draft.Readings.Looked = grading.NotRecorded
	case r.Looked == grading.WasLooked || r.Signed():
		draft.Readings.Looked = grading.WasLooked
	}
	if understood && r.Looked == grading.WasLooked && !draft.Readings.Has(grading.LiveWeevils) && !draft.Readings.Has(grading.LiveOthers) {
		draft.Readings.Set(grading.LiveWeevils, 0)
		draft.Readings.Set(grading.LiveOthers, 0)
	}
	if slices.Contains(r.Flags, grading.Musty) && !smellOpen(draft) {
		draft.Sure = append(draft.Sure, smellSure) // the word says which
	}
	for _, flag := range r.Flags {
		if !slices.Contains(draft.Readings.Flags, flag) {
			draft.Readings.Flags = append(draft.Readings.Flags, flag)
		}
	}
}

// troubles says which parts of a message could not be taken, and shows what is
// right.
func troubles(t *talk.Talk, problems []shorthand.Problem) []string {
	var out []string
	for _, p := range problems {
		key := "short." + strings.ReplaceAll(string(p.Trouble), " ", "_")
		name := ""
		if p.Key != "" {
			name = t.Say("field." + p.Key)
		}
		like := p.Example
		if like == "" && p.Key == "" { // any will do to show the form
			like = t.Copy(grading.Readings{Repeats: []grading.Decimal{13*ask.Whole + ask.Whole*8/10}})
		}
		out = append(out, t.Say(key, "typed", t.CleanTyped(p.Typed), "what", name, "like", like))
	}
	return out
}
