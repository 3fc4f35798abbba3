package screen

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"threshline/advice"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/shorthand"
	"threshline/session/talk"
)

// lotsScreen says what became of several lots that came in one message.
const lotsScreen session.ScreenID = "lots"

// showLots says it in up to three messages at once: a person would pay for
// asking for the next page, and some channels can answer only once.
func showLots(t *talk.Talk) talk.Shown {
	shown := ask.Says(t.Memo().Looked)
	if shown.Text == "" { // another screen used the place
		shown.Text = t.Say("short.noted")
	}
	shown.Long = true
	return shown
}

// takeLots handles the answer as the menu does: open checks are continued
// there.
func takeLots(t *talk.Talk, entry string) talk.Move { return talk.GoWith(talk.MenuScreen, entry) }

// rank is the order in which several lots are named.
type rank int

const (
	refused rank = iota
	faulty
	open // kept or lost, and not filed
	fine
)

// told is what is said of one of several lots.
type told struct {
	rank   rank
	grower session.PersonID
	short  int    // the grower's number; 0 where the lot is not told apart by it
	name   string // of the grower or the lot; "" where the text says which it is
	lot    string // its name with how much it is
	amount string // how much it is, in short
	slip   session.Slip
	text   string
	danger bool // what nobody may eat or feed
	unseen bool // filed, and nobody looked at it
}

// takeMany files several growers' lots and says what became of each.
func takeMany(t *talk.Talk, lots []shorthand.Lot, problems []shorthand.Problem) {
	t.Spare = 1
	var all []told
	for i, lot := range lots {
		var own []shorthand.Problem
		for _, p := range problems {
			if p.Lot == i && p.Trouble != shorthand.TooLong {
				own = append(own, p)
			}
		}
		t.Make(talk.Home("")) // puts the lot before aside
		one := oneOfMany(t, lot, own)
		if draft := t.Draft(); draft != nil && len(t.Dialogue.Drafts) > talk.MostDrafts {
			t.DropDraft()
			one.text = ask.Joined(answer.Caution(t, lot.Readings.Flags), t.Say("bags.full"))
		}
		all = append(all, one)
	}
	for _, p := range problems {
		if p.Trouble == shorthand.TooLong {
			all = append(all, told{rank: open, text: t.Say("short.rest", "typed", t.CleanTyped(p.Typed), "count", len(lots))})
		}
	}
	t.Make(talk.Home(""))
	t.Memo().Looked = manyText(t, all)
	t.Make(talk.Go(lotsScreen))
}

// mostNamed is how many missing readings of one of several lots are named: more
// are asked for when the lot is taken up. Source: assumed.
const mostNamed = 3

func oneOfMany(t *talk.Talk, lot shorthand.Lot, problems []shorthand.Problem) told {
	problems, understood := heard(t, &lot, problems)
	byHand := spokeOfHand(&lot, problems)
	fault := handTrouble(t, &lot)
	draft, problem := draftFor(t, lot, understood)
	if draft == nil {
		return told{rank: open, text: ask.Joined(answer.Caution(t, lot.Readings.Flags), problem)}
	}
	if byHand {
		makeSure(draft, handSure)
	}
	grower := t.PersonOf(draft.Lot.Grower)
	one := told{rank: open, grower: grower.ID, short: grower.Short, name: grower.Name, lot: t.LotName(draft.Lot), amount: answer.ShortAmount(t, draft.Lot)}
	one.name = cmp.Or(one.name, one.lot)
	trouble := append(fault, troubles(t, problems)...)
	switch {
	case draft.Lot.Grower == "":
		one.name, one.text = "", strings.TrimSpace(nobody(t, lot.Grower)+" "+t.Say("short.whose"))
	case len(trouble) > 0:
		one.text = strings.Join(append(trouble, t.Say("short.whose")), " ")
	case doubtful(t), signsOpen(t), sentTwice(t), manyAlone(t, &lot):
		one.text = t.Say("short.doubt")
	case unasked(t):
		one.text = t.Say("short.unasked")
	case !ready(t, draft):
		one.text = t.Say("short.part")
		if still := stillOf(t); len(still) <= mostNamed {
			one.text = t.Say("short.still", "what", what(t, still))
		}
	case maybeSame(t):
		c, _ := alike(t)
		one.text = t.Say("short.same", "slip", string(c.Slip))
	default:
		one.file(t)
	}
	return one
}

// file files the lot and says its grade, with why nobody may eat it, or with
// what holds the grade down and the remedy, or only with what was not measured
// or looked at.
func (one *told) file(t *talk.Talk) {
	c, err := t.File()
	if err != nil {
		one.text = t.Say("wrong.grade")
		return
	}
	t.Memo().Slip = c.Slip
	one.slip, one.unseen = c.Slip, c.Readings.Unlooked()
	_, j, ok := answer.About(t)
	grade := answer.GradeLine(t, c)
	switch {
	case ok && answer.HandOnly(&c, &j):
		one.rank, one.text = handTold(t, &c)
		return
	case !ok:
		one.rank, one.text = faulty, grade
	case len(j.Result.Gates) > 0 && !answer.WetByHand(&j.Result):
		one.rank, one.danger = refused, len(t.Programme.Poison(&c)) > 0
		one.text = t.Say("grade.gated", "grade", t.GradeName(c.Grade, c.Rank, c.Of, c.Complete), "what", signs.Text(t, &c.Readings))
		if one.danger {
			one.text += " " + t.Say("alert.never")
		} else {
			one.text += " " + shortest(answer.RemedyLines(t, &j.Advice)) + " " + answer.SafetyLine(t, &j.Advice)
		}
	case c.Rank > 1 || j.Advice.Best.Band <= advice.MendBand:
		one.rank = faulty
		one.text = strings.Join([]string{grade, shortest(answer.HeldBy(t, c, &j)), shortest(answer.RemedyLines(t, &j.Advice))}, " ")
	default:
		one.rank, one.text = fine, grade
	}
	if one.rank != refused { // what was seen, and that nobody looked further, is said
		one.text += " " + answer.MissingLine(t, c) + " " + t.Signs(&c)
	}
	one.text = strings.Join(strings.Fields(one.text), " ")
}

func shortest(ways []string) string { return ways[len(ways)-1] }

// manyText says what became of all lots: refused lots first; lots with the same
// result together, good ones only by number if room is short. A person who
// still has to look at some lots is told how.
func manyText(t *talk.Talk, all []told) string {
	tellApart(all)
	slices.SortStableFunc(all, func(a, b told) int { return int(a.rank) - int(b.rank) })
	look := ""
	if slices.ContainsFunc(all, func(one told) bool { return one.unseen }) {
		look = t.Say("short.look")
	}
	var text string
	for _, good := range []func(*told) string{longName, numberAndSlip, numberAlone} {
		text = manyLines(t, all, longName, good)
		if with := ask.Joined(text, look); t.FitsLong(with) {
			return amounts(t, all, with, look)
		}
		if t.FitsLong(text) {
			return text
		}
	}
	return ask.Joined(text, look)
}

// amounts says how much each lot is as well: in full where that takes no further
// message, else in short where an answer of several messages has room for it.
func amounts(t *talk.Talk, all []told, text, look string) string {
	messages := 0
	for n := 1; messages == 0; n++ {
		if length, _ := t.Budget.Count(text); length <= t.Budget.Joined(n) || n == 9 {
			messages = n
		}
	}
	more := ask.Joined(manyLines(t, all, lotAndSlip, lotAndSlip), look)
	if length, _ := t.Budget.Count(more); length <= t.Budget.Joined(messages) {
		return more
	}
	for _, good := range []func(*told) string{shortLot, numberAndLot} {
		if brief := ask.Joined(manyLines(t, all, shortLot, good), look); t.FitsLong(brief) {
			return brief
		}
	}
	return text
}

// tellApart has several lots of one grower called by what they are.
func tellApart(all []told) {
	for i := range all {
		for k := range all {
			if i != k && all[i].name != "" && all[i].grower == all[k].grower {
				all[i].short, all[i].name = 0, all[i].lot
			}
		}
	}
}

func longName(one *told) string { return strings.TrimSpace(one.name + " " + string(one.slip)) }

func lotAndSlip(one *told) string {
	if one.name == "" {
		return ""
	}
	return strings.TrimSpace(one.lot + " " + string(one.slip))
}

func shortLot(one *told) string {
	name := one.name
	if name == one.lot { // which says it in full
		return lotAndSlip(one)
	}
	return strings.Join(strings.Fields(name+" "+one.amount+" "+string(one.slip)), " ")
}

func numberAndLot(one *told) string {
	if one.short == 0 {
		return shortLot(one)
	}
	return strings.Join(strings.Fields(strconv.Itoa(one.short)+" "+one.amount+" "+string(one.slip)), " ")
}

func numberAndSlip(one *told) string {
	return strings.TrimSpace(numberAlone(one) + " " + string(one.slip))
}

func numberAlone(one *told) string {
	if one.short > 0 {
		return strconv.Itoa(one.short)
	}
	return one.name
}

// manyLines is a line for each thing there is to say, with the lots it is said of.
func manyLines(t *talk.Talk, all []told, called, good func(*told) string) string {
	var lines []string
	said := map[string]bool{}
	for i := range all {
		one := &all[i]
		if one.name == "" {
			lines = append(lines, one.text)
			continue
		}
		if said[one.text] {
			continue
		}
		said[one.text] = true
		var who []string
		for k := range all {
			if other := &all[k]; other.text == one.text && other.name != "" {
				call := called
				if other.rank == fine {
					call = good
				}
				who = append(who, call(other))
			}
		}
		lines = append(lines, t.Say("short.lots", "lots", strings.Join(who, ", "), "what", one.text))
	}
	return ask.Joined(lines...)
}
