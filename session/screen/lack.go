package screen

import (
	"slices"

	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/screen/dry"
	"threshline/session/talk"
)

const lackScreen session.ScreenID = "lack"

// lacking is the tool for the reading that is asked now.
func lacking(t *talk.Talk) (session.Tool, group) {
	g := current(t)
	if trail := t.Dialogue.Trail; len(trail) > 0 {
		for _, other := range slices.Concat(ussdGroups, smsGroups) {
			if other.id == trail[len(trail)-1] {
				g = other
			}
		}
	}
	still := missing(t, g)
	if len(still) == 0 {
		still = fresh(t, g)
	}
	if len(still) == 0 {
		return session.Meter, g
	}
	return toolFor(still[0]), g
}

func showLack(t *talk.Talk) talk.Shown {
	tool, _ := lacking(t)
	shown := ask.Says(t.Say("lack.ask", "tool", t.Say("tool."+string(tool))), t.Say("lack.never"), t.Say("lack.now"), t.Say("lack.no"))
	if tool == session.Meter {
		shown.Options = append(shown.Options, t.Say("lack.test"))
	}
	return shown
}

func takeLack(t *talk.Talk, _ *session.Draft, entry string) talk.Move {
	tool, g := lacking(t)
	switch n, _ := ask.Choice(entry); {
	case n == 1:
		p := t.Person
		p.Kit.Lacks = append(slices.Clone(p.Kit.Lacks), tool)
		t.Save(p)
	case n == 2:
		skipTool(t, g, tool)
	case n == 3:
	case n == 4 && tool == session.Meter:
		return talk.Go(dry.TestScreen)
	default:
		return ask.WrongChoice(t)
	}
	if offersHand(t) {
		return talk.Go(handOfferScreen)
	}
	return talk.Go(nextStep(t))
}

// skipTool leaves out what the tool would measure on this lot. Moisture
// readings already taken are kept: fewer than three are better than none.
func skipTool(t *talk.Talk, g group, tool session.Tool) {
	kept := t.Draft().Readings.Repeats
	for _, f := range missing(t, g) {
		if toolFor(f) == tool {
			t.Skip(f)
		}
	}
	if tool == session.Meter && len(kept) > 0 {
		t.Draft().Readings.Repeats = kept
	}
}

func takeZero(t *talk.Talk, entry string) talk.Move {
	switch n, _ := ask.Choice(entry); n {
	case 1:
		return talk.BackWith("0.0")
	case 2:
		return talk.BackTwice()
	}
	if measured(entry) {
		return talk.BackWith(entry)
	}
	return ask.WrongChoice(t)
}
