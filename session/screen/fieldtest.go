package screen

import (
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/dry"
	"threshline/session/talk"
)

const (
	biteScreen session.ScreenID = "dry-bite"
	saltScreen session.ScreenID = "dry-salt"
	signScreen session.ScreenID = "dry-sign"
)

// sign is what a test can show, in the order of the screen's numbers.
type sign struct {
	key  string
	says func() advice.FieldTest
}

var (
	bites = []sign{
		{"test.crushes", advice.Crushes.Sign},
		{"test.dull", advice.CracksDull.Sign},
		{"test.click", advice.CracksClick.Sign},
		{"test.brittle", advice.CracksBrittle.Sign},
	}
	salts = []sign{
		{"test.clings", func() advice.FieldTest { return advice.SaltTest(true) }},
		{"test.clean", func() advice.FieldTest { return advice.SaltTest(false) }},
	}
)

func takeTest(t *talk.Talk, entry string) talk.Move {
	switch n, _ := ask.Choice(entry); n {
	case 1:
		return talk.Go(biteScreen)
	case 2:
		return talk.Go(saltScreen)
	}
	return ask.WrongChoice(t)
}

func showSigns(question string, signs []sign) func(*talk.Talk) talk.Shown {
	return func(t *talk.Talk) talk.Shown {
		shown := ask.Question(t, t.Say(question, "grain", t.Number(advice.SaltTestGrain), "salt", t.Number(advice.SaltTestSalt)))
		for _, s := range signs {
			shown.Options = append(shown.Options, t.Say(s.key))
		}
		return shown
	}
}

func takeSign(signs []sign) func(*talk.Talk, string) talk.Move {
	return func(t *talk.Talk, entry string) talk.Move {
		n, _ := ask.Choice(entry)
		if n < 1 || n > len(signs) {
			return ask.WrongChoice(t)
		}
		t.Memo().Sign = signs[n-1].key
		if draft := t.Draft(); forCheck(t) {
			noteWater(&draft.Readings, signs[n-1].says())
			t.Touch(grading.NoField)
		}
		return talk.Go(signScreen)
	}
}

// forCheck reports whether the test is for the check under way, which lacks a
// meter, rather than for a lot that the person only asks about.
func forCheck(t *talk.Talk) bool {
	return t.Draft() != nil && slices.Contains(t.Dialogue.Trail, lackScreen)
}

// noteWater writes down what a test found of the lot under way, in place of what
// one found before.
func noteWater(r *grading.Readings, test advice.FieldTest) {
	r.Flags = slices.DeleteFunc(slices.Clone(r.Flags), grading.Flag.OfWater)
	switch {
	case test.Verdict != advice.TooWet:
	case test.About > advice.MicrobesAbove:
		r.Flags = append(r.Flags, grading.VeryWet)
	default:
		r.Flags = append(r.Flags, grading.TooWet)
	}
}

func showTest(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("test.ask"), t.Say("test.bite"), t.Say("test.salt"))
}

// takeFound goes on with the check that the test was made for.
func takeFound(t *talk.Talk, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	if !forCheck(t) || n != 1 {
		return ask.Nothing(t, entry)
	}
	for _, g := range groups(t) {
		if slices.Contains(g.fields, grading.Moisture) {
			skipTool(t, g, session.Meter)
		}
	}
	return talk.GoWith(nextStep(t), rest)
}

// showSign says what a sign stands for. Too wet: how to dry comes with it.
func showSign(t *talk.Talk) talk.Shown {
	all := slices.Concat(bites, salts)
	i := slices.IndexFunc(all, func(s sign) bool { return s.key == t.Memo().Sign })
	if i < 0 {
		return showTest(t)
	}
	noProof := t.Say("caution."+string(advice.HandTestsAreNot)) + " " + t.Say("test.measure")
	test := all[i].says()
	var goOn []string
	if forCheck(t) { // how to dry comes with the grade
		goOn = append(goOn, t.Say("test.go_on"))
	}
	if test.Verdict != advice.TooWet {
		return ask.Says(ask.Joined(t.Say("test.unproven"), noProof), goOn...)
	}
	key, target := "test.about", advice.KeepTarget(advice.Food, 0)
	if test.AtLeast {
		key = "test.over"
	}
	said := t.Say(key, "about", t.Number(test.About))
	if test.About > advice.MicrobesAbove {
		said += " " + t.Say("dry.wet")
	}
	if len(goOn) > 0 {
		return ask.Says(said, goOn...)
	}
	return ask.Says(ask.Joined(said, noProof, dryUnmeasured(t, test.About, target)))
}

// dryUnmeasured is how to dry for somebody who cannot measure when to stop, with
// the cautions of the plan.
func dryUnmeasured(t *talk.Talk, from, target grading.Decimal) string {
	plan, err := advice.PlanDrying(dry.NotWeighedKG, from, target, advice.Food)
	if err != nil {
		return ""
	}
	return strings.Join(append(answer.Warnings(t, plan.Cautions), t.Say("test.spread"), t.Say("test.until", "target", t.Number(target))), " ")
}
