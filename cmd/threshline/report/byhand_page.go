package report

import (
	"fmt"
	"strings"

	"threshline/grading"
	"threshline/grading/byhand"
)

// explainHand writes the page for a lot that was only counted by hand: readings,
// standard, how counts became shares, likely grades, and the remedy.
func (g *Grader) explainHand(l *lot) {
	var p page
	if l.Readings.Signed() {
		fmt.Fprintf(&p, "By hand: stopped by %s\n", Join(l.Result.Gates))
	} else {
		fmt.Fprintf(&p, "By hand: %s, by %s\n", l.hand.likelyText(g.Standard), g.Standard.Title)
	}
	p.readings(l)
	p.doubts(g, l)
	p.standard(g.Standard, l.Result.Class, g.Day)
	if !l.Readings.Signed() {
		p.handShares(g, l)
		p.handGrades(g, l)
	}
	p.handRemedy(g, l)
	p.sources(g)
	p.WriteByte('\n')
	g.buf = append(g.buf, p.String()...)
}

// hand lists the counts.
func (p *page) hand(h *grading.Hand) {
	if !h.Made() {
		return
	}
	p.line("%-14s of %d grains: %d empty, %d green; %d stones beside them", "by hand", h.Grains, h.Empty, h.Green, h.Stones)
	if h.Husked > 0 {
		p.line("%-14s of %d: %d red, %d bored, %d discoloured", "husked", h.Husked, h.Red, h.Bored, h.Discoloured)
	}
	if h.Handfuls > 0 {
		p.line("%-14s %d, each from another bag", "handfuls", h.Handfuls)
	}
}

// handShares shows how counts became shares.
func (p *page) handShares(g *Grader, l *lot) {
	p.heading("From counts to shares")
	for _, c := range l.hand.likely.Counts {
		p.line("%-14s %d of %d show %.2f %% by themselves; handfuls, weights and eyes scatter that by %.0f %%", c.Field, c.Seen, c.Of, c.Shows, 100*c.Scatter)
		p.line("%-14s with what lots usually hold: %.2f %%, give or take %.2f", "", c.Mean, c.Deviation)
	}
	p.wrap("usually: %.0f %% of a clean family of lots, else of a rough one, as the counts themselves say", 100*l.hand.likely.Clean)
	for _, w := range byhand.Weights() {
		p.wrap("%s: %s, its doubt %.0f %%; %s", w.Of, strings.TrimSpace(fmt.Sprint(w.Mean, " ", w.Unit)), 100*w.Doubt, w.Source)
	}
	p.wrap("bags of a lot differ by %g of their mean, and a handful from its bag by %g; more handfuls make both less. "+
		"Assumed, [ASSUMED-HAND]", byhand.BagDeviation, byhand.ScoopDeviation)
	for i := range l.hand.likely.Shares {
		text, share := "", &l.hand.likely.Shares[i]
		if !share.Counted {
			text = "; not counted, only what is usual"
		}
		p.line("%s%s", g.shareText(share), text)
	}
}

// handGrades shows the chances of the grades.
func (p *page) handGrades(g *Grader, l *lot) {
	p.heading("Likely grades")
	h := &l.hand.likely
	for i := range h.Chances {
		p.line("%-14s as it is %s, once it is dry %s", labelOf(g.Standard, i+1), chanceText(h.Chances[i]), chanceText(h.OnceDry[i]))
	}
	p.line("%s", l.hand.likelyText(g.Standard))
	p.wrap("model: lots are drawn from all that this one may be and graded each; the shortest run of grades that holds " +
		"two of three is stated. Water that no meter read is as usual, or over what was felt; where it alone would change " +
		"the grade in more than one of ten, the grades are those of the dry lot.")
	if len(h.Missing) > 0 {
		p.line("hands say nothing of: %s", Join(h.Missing))
	}
}

// handRemedy shows the remedy, and why.
func (p *page) handRemedy(g *Grader, l *lot) {
	a := &l.hand.advice
	p.heading("Remedy")
	p.line("%s", l.hand.remedyText())
	if try := &a.Try; try.Remedy != "" {
		if a.Best.Remedy != "" {
			p.line("%s", l.hand.tryText())
		}
		p.wrap("model: of all that the lot may be, its water too, a full check gives this remedy most often, in %s of them; "+
			"with a lesser chance than 0.15 none is tried", chanceText(try.Named))
	}
	if a.Best.Remedy == "" {
		return
	}
	for _, id := range a.Best.Cautions {
		p.line("caution: %s", g.cautionText(id))
	}
	if a.Stops || a.Wet {
		return
	}
	p.wrap("gain %s over all that the lot may be; a full check would find it worth doing with chance %s. Source: %s",
		g.gainText(a.Best.Gain, a.Best.InMoney), chanceText(a.Useful), a.Best.Source)
}
