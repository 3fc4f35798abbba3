package people

import (
	"cmp"
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

const (
	SettingsScreen session.ScreenID = "settings"
	toolsScreen    session.ScreenID = "tools"
	namedScreen    session.ScreenID = "named"
	leaveScreen    session.ScreenID = "leave"
	tongueScreen   session.ScreenID = "tongue"
)

func showSettings(t *talk.Talk) talk.Shown {
	shown := ask.Says("", t.Say("settings.tools"), t.Say("settings.language"), t.Say("settings.who"), t.Say("settings.code"), t.Say("settings.leave"))
	if p := t.Person; p.Role == session.Coordinator {
		key := map[bool]string{true: "settings.digest_off", false: "settings.digest_on"}[p.NoDigest]
		shown.Options = append(shown.Options, t.Say(key))
	}
	if mayBeNamed(t) {
		key := map[bool]string{true: "settings.named_yes", false: "settings.named_no"}[t.Person.Named]
		shown.Options = append(shown.Options, t.Say(key))
	}
	return shown
}

// The settings' number for a coordinator's week by SMS, and for whether growers
// are told an agent's name and number.
const digestSetting, namedSetting = 6, 6

// mayBeNamed reports whether the person can be named to growers nearby.
func mayBeNamed(t *talk.Talk) bool { return t.Person.Role == session.Agent && t.Person.District != "" }

func takeNamed(t *talk.Talk, entry string) talk.Move {
	switch {
	case !mayBeNamed(t):
		return talk.Home("")
	case ask.Yes(t, entry):
		t.BeNamed(true)
	case ask.No(t, entry):
		t.BeNamed(false)
	default:
		return ask.WrongChoice(t)
	}
	return talk.BackWith("")
}

func takeSettings(t *talk.Talk, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	if n == digestSetting && t.Person.Role == session.Coordinator {
		t.WantDigest(t.Person.NoDigest)
		return talk.Stay("")
	}
	if n == namedSetting && mayBeNamed(t) {
		return talk.GoWith(namedScreen, rest)
	}
	to := map[int]session.ScreenID{1: toolsScreen, 2: tongueScreen, 3: nameScreen, 4: codeScreen, 5: leaveScreen}[n]
	if to == "" {
		return ask.WrongChoice(t)
	}
	return talk.GoWith(to, rest)
}

// tools are listed in this order.
var tools = []session.Tool{session.Meter, session.Scale, session.Sieves, session.Husker, session.Pan}

func showTools(t *talk.Talk) talk.Shown {
	shown := ask.Says(t.Say("tools.ask"))
	for i, tool := range tools {
		key := "tools.have"
		if !t.Person.Kit.Has(tool) {
			key = "tools.lack"
		}
		shown.Options = append(shown.Options, t.Say(key, "number", i+1, "tool", t.Say("tool."+string(tool))))
	}
	shown.Options = append(shown.Options, t.Say("tools.step", "number", len(tools)+1, "step", t.Number(ScaleStep(t))))
	if names := t.Programme.MeterNames(); len(names) > 0 {
		shown.Options = append(shown.Options, t.Say("tools.meter", "number", len(tools)+2, "meter", cmp.Or(t.Person.Kit.Meter, "?")))
	}
	return shown
}

// nextMeter is the meter that is offered next: each of the programme's in turn,
// then an unknown one.
func nextMeter(t *talk.Talk) string {
	names := append(t.Programme.MeterNames(), "")
	return names[(slices.Index(names, t.Person.Kit.Meter)+1)%len(names)]
}

// ScaleStep is the smallest step of the person's scale, g.
func ScaleStep(t *talk.Talk) grading.Decimal {
	if step := t.Person.Kit.ScaleStep; step > 0 {
		return grading.Decimal(step)
	}
	if step := t.Programme.Advice.ScaleStep; step > 0 {
		return step
	}
	return scaleSteps[0]
}

// scaleSteps are the steps that hand scales have, g: common practice, no source.
// The first is what is taken when nobody says otherwise, as in grading.
var scaleSteps = []grading.Decimal{ask.Whole / 100, ask.Whole / 10, ask.Whole}

// nextScale is the step that is offered after one.
func nextScale(step grading.Decimal) grading.Decimal {
	i := slices.Index(scaleSteps, step)
	return scaleSteps[(i+1)%len(scaleSteps)]
}

func takeTools(t *talk.Talk, entry string) talk.Move {
	n, _ := ask.Choice(entry)
	if n == len(tools)+1 {
		p := t.Person
		p.Kit.ScaleStep = int64(nextScale(ScaleStep(t)))
		t.Save(p)
		return talk.Stay("")
	}
	if n == len(tools)+2 && len(t.Programme.Meters) > 0 {
		p := t.Person
		p.Kit.Meter = nextMeter(t)
		t.Save(p)
		return talk.Stay("")
	}
	if n < 1 || n > len(tools) {
		return ask.WrongChoice(t)
	}
	p, tool := t.Person, tools[n-1]
	if p.Kit.Has(tool) {
		p.Kit.Lacks = append(slices.Clone(p.Kit.Lacks), tool)
	} else {
		p.Kit.Lacks = slices.DeleteFunc(slices.Clone(p.Kit.Lacks), func(l session.Tool) bool { return l == tool })
	}
	t.Save(p)
	return talk.Stay("")
}

func takeLeave(t *talk.Talk, entry string) talk.Move {
	switch n, _ := ask.Choice(entry); n {
	case 1:
		p := t.Person
		p.Stopped = t.In.At
		t.Save(p)
		return talk.Finish(t.Say("stop.done"))
	case 2:
		return talk.Go(talk.ForgetScreen)
	}
	return ask.WrongChoice(t)
}

func showForget(t *talk.Talk) talk.Shown {
	sure := t.Say("leave.sure")
	if n := len(t.Growers(t.Person.ID)); n > 0 {
		sure += " " + t.Say("leave.sure_agent", "count", n)
	}
	return ask.Says(sure, t.Say("leave.yes"))
}

func takeForget(t *talk.Talk, entry string) talk.Move {
	if !ask.Yes(t, entry) {
		return ask.WrongChoice(t)
	}
	gone := t.Say("leave.gone")
	t.Forget()
	return talk.Finish(gone)
}
