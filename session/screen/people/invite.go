package people

import (
	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

const (
	InviteScreen session.ScreenID = "invite"
	codeScreen   session.ScreenID = "code"
)

// showInvite offers to an agent to invite a buyer, to a coordinator also an agent.
func showInvite(t *talk.Talk) talk.Shown {
	shown := ask.Says(t.Say("code.role"))
	if t.Person.Role == session.Coordinator {
		shown.Options = append(shown.Options, t.Say("code.agent"))
	}
	shown.Options = append(shown.Options, t.Say("code.buyer"))
	return shown
}

func takeInvite(t *talk.Talk, entry string) talk.Move {
	role := session.Role("")
	switch n, _ := ask.Choice(entry); {
	case n == 1 && t.Person.Role == session.Coordinator:
		role = session.Agent
	case n == 2 && ask.Agents(t):
		role = session.Buyer
	default:
		return ask.WrongChoice(t)
	}
	return talk.Home(t.Say("code.made", "code", t.Invite(role).Code))
}

// takeCode takes a code; one who tries many wrong ones waits, as with slips.
func takeCode(t *talk.Talk, entry string) talk.Move {
	if wait := t.SlowCode(); wait > 0 {
		return talk.Refuse(t.Say("code.slow", "minutes", int(wait.Minutes())+1))
	}
	code, ok := session.ParseCode(entry)
	if !ok {
		t.MissedCode()
		return talk.Refuse(t.Say("wrong.code"))
	}
	if problem := t.Redeem(code); problem != "" {
		return talk.Refuse(t.Say(problem))
	}
	return talk.Home(t.Say("code.joined", "role", t.Say("role."+string(t.Person.Role))))
}
