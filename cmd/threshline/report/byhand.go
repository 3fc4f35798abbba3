package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/byhand"
)

// handLot is what a check by hand lets a lot be. It never has a grade.
type handLot struct {
	likely byhand.Likely
	advice advice.Hand
}

// judgeHand works out what a lot may be that was only counted by hand.
func (g *Grader) judgeHand(l *lot) error {
	l.hand = nil
	if !l.Readings.ByHand() {
		return nil
	}
	likely, err := byhand.Assess(g.Standard, &l.Readings, byhand.Options{Usual: g.Settings.Usual, Bags: int(l.bags / grading.One)})
	if err != nil {
		return err
	}
	l.hand = &handLot{likely: likely}
	if g.Advise {
		l.hand.advice = advice.ByHand(l.Case, &l.hand.likely)
	}
	return nil
}

// likelyLabels are the grades of a run, best first.
func likelyLabels(s *grading.Standard, l *byhand.Likely) []grading.GradeLabel {
	var out []grading.GradeLabel
	for rank := l.From; rank <= l.To; rank++ {
		out = append(out, labelOf(s, rank))
	}
	return out
}

// labelOf is a grade's label by its rank; past the last, the word for out of grade.
func labelOf(s *grading.Standard, rank int) grading.GradeLabel {
	if rank <= len(s.Grades) {
		return s.Grades[rank-1].Label
	}
	return s.OutOfGrade
}

// worthTheKit says when a full check of the lot is worth the kit: at once, after what
// has to be done first, or, stopped by signs, not at all.
type worthTheKit struct {
	now   bool
	after advice.RemedyID // "" at once, or stopped
}

func (h *handLot) worth() worthTheKit {
	rem := advice.RemedyOf(h.advice.Best.Remedy)
	switch {
	case h.advice.Stops:
		return worthTheKit{}
	case rem != nil && rem.When == advice.ThisLot:
		return worthTheKit{after: rem.ID}
	}
	return worthTheKit{now: true}
}

// first is a lot of a list of checks by hand, by its place in the list from 1.
type first struct {
	place    int
	meanRank float64
	worth    worthTheKit
}

// firstLook says which lots of a list are worth the kit, those of the best likely
// grades first; "" of fewer than two.
func firstLook(lots []first) string {
	if len(lots) < 2 {
		return ""
	}
	slices.SortStableFunc(lots, func(a, b first) int { return cmp.Compare(a.meanRank, b.meanRank) })
	var now, after, never []string
	for _, f := range lots {
		place := strconv.Itoa(f.place)
		switch {
		case f.worth.now:
			now = append(now, place)
		case f.worth.after != "":
			after = append(after, fmt.Sprintf("%s (%s)", place, f.worth.after))
		default:
			never = append(never, place)
		}
	}
	var parts []string
	for _, p := range [...]struct {
		lots []string
		when string
	}{{now, "now"}, {after, "when that is done"}, {never, "not worth it, stopped by signs"}} {
		switch list := strings.Join(p.lots, ", ") + " " + p.when; len(p.lots) {
		case 0:
		case 1:
			parts = append(parts, "lot "+list)
		default:
			parts = append(parts, "lots "+list)
		}
	}
	return "A first look by hand. Worth the kit, the likely best first: " + strings.Join(parts, "; ") + "\n"
}

// likelyText says what the lot likely is.
func (h *handLot) likelyText(s *grading.Standard) string {
	labels := likelyLabels(s, &h.likely)
	text := "likely " + Join(labels[:len(labels)-1])
	if len(labels) > 1 {
		text += " or "
	}
	text += string(labels[len(labels)-1])
	if len(h.likely.Missing) > 0 {
		text += " at best"
	}
	if h.likely.IfDry {
		text += ", once it is dry"
	}
	text += fmt.Sprintf(", chance %.0f %%", 100*h.likely.Chance)
	if h.likely.Few {
		text += "; few grains were counted: mostly a guess"
	}
	return text
}

// appendHandLine answers a lot that was only counted by hand, for a person. Of a lot
// that signs stop nothing is said of its grades.
func (g *Grader) appendHandLine(l *lot) {
	var w strings.Builder
	h := l.hand
	if l.Readings.Signed() {
		fmt.Fprintf(&w, "By hand: stopped by %s\n", Join(l.Result.Gates))
	} else {
		fmt.Fprintf(&w, "By hand: %s\n", h.likelyText(g.Standard))
	}
	if warning := g.outOfForce(); warning != "" {
		fmt.Fprintf(&w, "  WARNING: %s\n", warning)
	}
	if l.Readings.Unlooked() {
		fmt.Fprintf(&w, "  signs %s\n", notLooked)
	}
	if len(h.likely.Missing) > 0 {
		fmt.Fprintf(&w, "  hands say nothing of: %s\n", Join(h.likely.Missing))
	}
	if !l.Readings.Signed() {
		for i := range h.likely.Shares {
			if share := &h.likely.Shares[i]; share.Counted {
				fmt.Fprintf(&w, "  %s\n", g.shareText(share))
			}
		}
	}
	if g.Advise {
		fmt.Fprintf(&w, "  %s\n", h.remedyText())
		for _, id := range h.advice.Best.Cautions {
			fmt.Fprintf(&w, "    caution: %s\n", g.cautionText(id))
		}
	}
	g.buf = append(g.buf, w.String()...)
}

func (g *Grader) shareText(s *byhand.Share) string {
	p := g.Standard.Parameter(s.Parameter)
	return fmt.Sprintf("%s %.*f, give or take %.*f %s", s.Parameter, p.Decimals, s.Mean, p.Decimals, s.Deviation, p.Unit)
}

// remedyText says what is most worth doing, and what it changes.
func (h *handLot) remedyText() string {
	a := &h.advice
	switch {
	case a.Best.Remedy == "" && a.Try.Remedy != "":
		return h.tryText()
	case a.Best.Remedy == "":
		return "no remedy is sure enough to be worth it"
	case a.Stops:
		return fmt.Sprintf("first %s", a.Best.Remedy)
	case a.Best.When == advice.NextSeason:
		return fmt.Sprintf("next season %s: a full check would say so with chance %s", a.Best.Remedy, chanceText(a.Useful))
	case a.Better == "":
		return fmt.Sprintf("best remedy %s", a.Best.Remedy)
	}
	orBetter := " or better"
	if a.BetterRank == 1 {
		orBetter = ""
	}
	return fmt.Sprintf("best remedy %s: then %s%s with chance %s, now %s", a.Best.Remedy, a.Better, orBetter, chanceText(a.Chance), chanceText(a.Now))
}

// tryText says what is tried first where no remedy is sure.
func (h *handLot) tryText() string {
	try := &h.advice.Try
	return fmt.Sprintf("no remedy is sure; worth a trial: %s, which a full check would find worth doing with chance %s", try.Remedy, chanceText(try.Useful))
}

// appendHandJSON answers a lot that was only counted by hand, as one line.
func (g *Grader) appendHandJSON(l *lot) {
	h := l.hand
	b := appendText(append(g.buf, `{"standard":`...), g.Standard.ID)
	if l.Result.Class != "" {
		b = appendText(append(b, `,"class":`...), l.Result.Class)
	}
	if g.outOfForce() != "" {
		b = append(b, `,"in_force":false`...)
	}
	b = append(b, `,"by_hand":{`...)
	if l.Readings.Signed() {
		b = appendList(append(b, `"stopped_by":`...), l.Result.Gates)
	} else {
		b = appendList(append(b, `"likely":`...), likelyLabels(g.Standard, &h.likely))
		b = appendChance(append(b, `,"chance":`...), h.likely.Chance)
		b = strconv.AppendBool(append(b, `,"once_dry":`...), h.likely.IfDry)
		b = g.appendChances(append(b, `,"chances":`...), h.likely.Chances)
		b = g.appendChances(append(b, `,"chances_once_dry":`...), h.likely.OnceDry)
		if h.likely.Few {
			b = append(b, `,"few_grains":true`...)
		}
		b = appendList(append(b, `,"missing":`...), h.likely.Missing)
		b = append(b, `,"shares":[`...)
		for i := range h.likely.Shares {
			share := &h.likely.Shares[i]
			if i > 0 {
				b = append(b, ',')
			}
			b = appendText(append(b, `{"id":`...), string(share.Parameter))
			b = appendChance(append(b, `,"mean":`...), share.Mean)
			b = appendChance(append(b, `,"deviation":`...), share.Deviation)
			b = append(strconv.AppendBool(append(b, `,"counted":`...), share.Counted), '}')
		}
		b = append(b, ']')
	}
	b = append(b, '}')
	if l.Readings.Unlooked() {
		b = appendText(append(b, `,"signs":`...), notLooked)
	}
	if g.Advise {
		b = h.appendRemedy(b)
	}
	g.buf = append(appendAsides(b, l), "}\n"...)
}

// appendRemedy writes the remedy, and when the lot is worth the kit.
func (h *handLot) appendRemedy(b []byte) []byte {
	a := &h.advice
	if a.Best.Remedy != "" {
		b = appendText(append(b, `,"remedy":{"id":`...), string(a.Best.Remedy))
		b = appendText(append(b, `,"when":`...), string(a.Best.When))
		if a.Better != "" {
			b = appendText(append(b, `,"then":`...), string(a.Better))
			b = appendChance(append(b, `,"chance":`...), a.Chance)
			b = appendChance(append(b, `,"chance_now":`...), a.Now)
		}
		b = appendChance(append(b, `,"useful":`...), a.Useful)
		b = appendList(append(b, `,"cautions":`...), a.Best.Cautions)
		b = append(b, '}')
	}
	if try := &a.Try; try.Remedy != "" {
		b = appendText(append(b, `,"try":{"id":`...), string(try.Remedy))
		b = appendText(append(b, `,"when":`...), string(try.When))
		b = appendChance(append(b, `,"useful":`...), try.Useful)
		b = appendList(append(b, `,"cautions":`...), try.Cautions)
		b = append(b, '}')
	}
	when := "not now"
	switch worth := h.worth(); {
	case worth.now:
		when = "now"
	case worth.after != "":
		when = "after " + string(worth.after)
	}
	return appendText(append(b, `,"worth_the_kit":`...), when)
}

// appendChances writes chances by grade, best first.
func (g *Grader) appendChances(b []byte, chances []float64) []byte {
	for i, c := range chances {
		open := byte(',')
		if i == 0 {
			open = '{'
		}
		b = append(appendText(append(b, open), string(labelOf(g.Standard, i+1))), ':')
		b = appendChance(b, c)
	}
	return append(b, '}')
}
