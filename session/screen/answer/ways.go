package answer

import (
	"math"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/signs"
	"threshline/session/talk"
)

// waysScreen compares selling a checked lot now, mending, drying and keeping it.
const waysScreen session.ScreenID = "ways"

// sellKey opens the comparison for the person's newest check. Its number comes
// after the lines of a page and the key that turns the page.
const sellKey = 10

func showWays(t *talk.Talk) talk.Shown {
	c, j, ok := About(t)
	if !ok {
		return ask.Says(t.Say("mine.none"))
	}
	ways := t.Ways(c)
	switch {
	case c.State != session.Filed:
		return ask.Says(GradeLine(t, c) + " " + t.Say("grade.state", "state", t.Say("mine."+string(c.State))))
	case ways.Best < 0 && ways.First != "":
		do := remedyText(t, considered(&j.Advice, ways.First))
		what := signs.Text(t, &c.Readings)
		if c.Grade == grading.NoGrade {
			what = t.GradeWord(c.Grade)
		}
		shown := ask.Says(ask.Joined(t.Say("ways.stopped", "what", what, "do", do), SafetyLine(t, &j.Advice)))
		shown.Safety = true
		return shown
	case ways.Best < 0:
		return ask.Says(t.Say("wrong.grade"))
	}
	return ask.Says(ask.Joined(append([]string{lackLine(t, c), bestLine(t, &ways)}, wayLines(t, &ways)...)...))
}

// bestLine names the best way first, so that the first line is the answer.
func bestLine(t *talk.Talk, w *advice.Ways) string {
	best, key := &w.List[w.Best], "ways.best"
	switch {
	case w.Spoils:
		key = "ways.spoils"
	case w.InMoney:
		key = "ways.best_money"
	}
	line := t.Say(key, "do", lowered(wayName(t, w, best)), "currency", t.Programme.Currency)
	if w.First != "" {
		return t.Say("remedy."+string(w.First)+".do") + ". " + line
	}
	return line
}

func wayLines(t *talk.Talk, w *advice.Ways) (lines []string) {
	priced := len(t.Programme.Advice.Prices) > 0
	for i := range w.List {
		way := &w.List[i]
		what := ""
		switch {
		case priced && !way.Known:
			what = t.Say("ways.unknown")
		case w.InMoney && way.ID == advice.KeepIt:
			what = t.Say("ways.rise", "percent", max(1, int(math.Ceil(way.Rise))))
		case w.InMoney: // what mending earns is said as on the first answer
			sold := math.Round(w.List[0].Money)
			what = t.Number(grading.NewDecimal(int(sold + math.Floor(way.Money-w.List[0].Money))))
		default:
			what = phrase(t, way.Becomes, way.BecomesRank, len(t.Programme.Standard.Grades))
		}
		lines = append(lines, t.Say("ways.line", "do", wayName(t, w, way), "what", what))
	}
	return lines
}

// wayName says what is done, in as few words as can be: of several steps all,
// unless they stand above by themselves.
func wayName(t *talk.Talk, w *advice.Ways, way *advice.Way) string {
	switch way.ID {
	case advice.SellNow:
		return t.Say("ways.sell")
	case advice.KeepIt:
		how := ""
		if way.Target > 0 && w.List[w.Best].Target != way.Target {
			how += " " + t.Say("ways.keep_dry", "target", t.Number(way.Target.Round(1)))
		}
		if n := len(way.Set); n > 0 && way.Set[n-1] == advice.Hermetic {
			how += " " + t.Say("ways.keep_sealed")
		}
		return t.Say("ways.keep", "how", how)
	case advice.BothFirst:
		if len(w.List) > 3 && w.List[1].ID == advice.MendFirst && w.List[2].ID == advice.DryFirst {
			return t.Say("ways.both")
		}
	}
	var do []string
	for i, id := range way.Set {
		step := t.Say("remedy."+string(id)+".do", "target", t.Number(way.Target.Round(1)))
		if i > 0 {
			step = lowered(step)
		}
		do = append(do, step)
	}
	return strings.Join(do, ", ")
}

// sellable reports whether the lot of a check can be sold, kept or mended.
func sellable(t *talk.Talk, c session.Check) bool {
	j, err := t.Judged(c)
	stopped := j.Advice.Best.Band == advice.SafetyBand || slices.Contains(j.Advice.Set, advice.ClearInsects)
	return err == nil && !c.Readings.ByHand() && c.State == session.Filed && !stopped
}
