package screen

import (
	"slices"

	"threshline/session"
	"threshline/session/screen/answer"
	"threshline/session/screen/ask"
	"threshline/session/screen/dry"
	"threshline/session/screen/people"
	"threshline/session/talk"
)

// The menu's lines have the same numbers for everybody, so that people can
// learn them.
const (
	menuCheck      = 1
	menuMine       = 2
	menuDrying     = 3
	menuSlip       = 4
	menuUnfinished = 5
	menuGrowers    = 6
	menuSettings   = 7
	menuInvite     = 8
	menuWeek       = 10 // 9 turns the page
	menuHand       = 11
)

// lines returns the lines that the person's role needs.
func lines(t *talk.Talk) []int {
	var all []int
	switch t.Person.Role {
	case session.Buyer:
		all = []int{menuSlip, menuSettings}
	case session.Agent:
		all = []int{menuCheck, menuHand, menuMine, menuDrying, menuSlip, menuUnfinished, menuGrowers, menuSettings, menuInvite}
	case session.Coordinator:
		all = []int{menuCheck, menuHand, menuMine, menuDrying, menuSlip, menuUnfinished, menuGrowers, menuSettings, menuInvite, menuWeek}
	default:
		all = []int{menuCheck, menuHand, menuMine, menuDrying, menuSlip, menuUnfinished, menuSettings}
	}
	if len(t.Dialogue.Drafts) == 0 {
		all = slices.DeleteFunc(all, func(n int) bool { return n == menuUnfinished })
	}
	return all
}

func showMenu(t *talk.Talk) talk.Shown {
	check := t.Say("menu.check")
	if t.In.Kind == session.SMS && !ask.Agents(t) && t.Memo().Lead == "" { // what is wrong stands on one page with all lines
		check = t.Say("menu.check_sms")
	}
	says := map[int]string{
		menuCheck: check, menuHand: t.Say("menu.hand"), menuMine: t.Say("menu.mine"), menuDrying: t.Say("menu.dry"), menuSlip: t.Say("menu.slip"),
		menuUnfinished: t.Say("menu.unfinished", "count", len(t.Dialogue.Drafts)),
		menuGrowers:    t.Say("menu.growers"), menuSettings: t.Say("menu.settings"), menuInvite: t.Say("menu.invite"), menuWeek: t.Say("menu.week"),
	}
	shown := talk.Shown{Text: t.Say("menu.title", "programme", t.Programme.Name)}
	switch {
	case !t.Person.Stopped.IsZero():
		shown.Text = t.Say("menu.stopped")
	case t.Memo().Lead != "":
		shown.Text = ""
	}
	for _, n := range lines(t) {
		shown.Options = append(shown.Options, says[n])
	}
	if ask.Agents(t) && !t.Fits(ask.Joined(append([]string{t.Memo().Lead, shown.Text}, shown.Options...)...)) { // its key works all the same
		shown.Options = slices.DeleteFunc(shown.Options, func(line string) bool { return line == says[menuHand] })
	}
	return shown
}

func takeMenu(t *talk.Talk, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	if behind, ok := dry.Word(t, entry); ok && slices.Contains(lines(t), menuDrying) {
		n, rest = menuDrying, behind
	}
	if !slices.Contains(lines(t), n) {
		return ask.WrongChoice(t)
	}
	switch n {
	case menuCheck:
		return startCheck(t, rest)
	case menuHand:
		return startHand(t, rest)
	case menuMine:
		return talk.Go(answer.MineScreen)
	case menuDrying:
		return talk.GoWith(dry.Screen, rest)
	case menuSlip:
		t.Memo().Looked = ""
		return talk.GoWith(talk.SlipScreen, rest)
	case menuUnfinished:
		return talk.GoWith(unfinishedScreen, rest)
	case menuGrowers:
		return talk.GoWith(people.GrowersScreen, rest)
	case menuInvite:
		return talk.Go(people.InviteScreen)
	case menuWeek:
		return talk.Go(talk.WeekScreen)
	}
	return talk.GoWith(people.SettingsScreen, rest)
}
