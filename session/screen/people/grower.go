package people

import (
	"cmp"

	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/talk"
)

const (
	growerScreen   session.ScreenID = "grower"
	renameScreen   session.ScreenID = "rename"
	renumberScreen session.ScreenID = "renumber"
	phoneScreen    session.ScreenID = "phone"
	handOverScreen session.ScreenID = "hand-over"
)

// chosen returns the person whose data is shown; false when the one who asks
// may not change it.
func chosen(t *talk.Talk) (session.Person, bool) {
	p := t.PersonOf(t.Memo().Grower)
	return p, p.ID != "" && !p.Forgotten && t.Person.MayChange(&p)
}

func showGrower(t *talk.Talk) talk.Shown {
	p, ok := chosen(t)
	if !ok {
		return ask.Says(t.Say("wrong.person"))
	}
	phone := cmp.Or(string(p.Phone), t.Say("growers.no_phone"))
	shown := ask.Says(Line(t, p), t.Say("growers.correct"))
	if ask.UnderMe(t, p) {
		shown.Options = append(shown.Options, t.Say("growers.short", "number", p.Short))
	}
	shown.Options = append(shown.Options, t.Say("growers.phone", "phone", phone))
	if p.Role == session.Grower {
		shown.Options = append(shown.Options, t.Say("growers.hand_over"))
	}
	return shown
}

func takeGrower(t *talk.Talk, entry string) talk.Move {
	n, rest := ask.Choice(entry)
	to := map[int]session.ScreenID{1: renameScreen, 2: renumberScreen, 3: phoneScreen, 4: handOverScreen}[n]
	p, ok := chosen(t)
	if !ok || to == "" || n == 2 && !ask.UnderMe(t, p) || n == 4 && p.Role != session.Grower {
		return ask.WrongChoice(t)
	}
	return talk.GoWith(to, rest)
}

func takeRename(t *talk.Talk, entry string) talk.Move {
	p, ok := chosen(t)
	name, village, wrong := nameAndVillage(t, entry)
	switch {
	case !ok:
		return talk.Refuse(t.Say("wrong.name"))
	case wrong != "":
		return talk.Refuse(wrong)
	}
	p.Name = name
	if village != "" {
		p.Village = village
	}
	t.Save(p)
	return talk.Home(t.Say("growers.changed", "name", name))
}

func showRenumber(t *talk.Talk) talk.Shown {
	p, _ := chosen(t)
	return ask.Says(t.Say("growers.number", "name", p.Name, "free", freeShort(t)))
}

func takeRenumber(t *talk.Talk, entry string) talk.Move {
	p, ok := chosen(t)
	n, _ := ask.Choice(entry)
	if !ok || !shortFree(t, n, p.ID) {
		return talk.Refuse(t.Say("wrong.short"))
	}
	p.Short = n
	t.Save(p)
	return talk.Home(t.Say("growers.added", "name", p.Name, "number", n))
}

// phoneLike is an example of a whole number, from a range kept for examples.
const phoneLike = "00 33 6 39 98 12 34"

func showPhone(t *talk.Talk) talk.Shown {
	p, _ := chosen(t)
	if p.Role != session.Grower {
		return ask.Says(t.Say("growers.phone_desk", "name", p.Name))
	}
	return ask.Says(t.Say("growers.phone_ask", "name", p.Name, "like", phoneLike))
}

// takePhone moves a grower and their record to a new number. A person with more
// rights can move only with a code from the desk, which the new phone sends.
func takePhone(t *talk.Talk, entry string) talk.Move {
	p, ok := chosen(t)
	phone, well := t.ReadPhone(entry)
	if ok && p.Role != session.Grower {
		return talk.Stay("")
	}
	if !ok || !well {
		return talk.Refuse(t.Say("wrong.phone", "like", phoneLike))
	}
	if other := t.PersonAt(phone); other.ID != "" && other.ID != p.ID {
		return talk.Refuse(t.Say("wrong.phone_taken"))
	}
	t.MoveNumber(p, phone)
	return talk.Home(t.Say("growers.phone_set", "name", p.Name, "phone", string(phone)))
}

func showHandOver(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("growers.agent_ask", "like", phoneLike))
}

// takeHandOver gives a grower to another agent, with a free number of theirs.
func takeHandOver(t *talk.Talk, entry string) talk.Move {
	p, ok := chosen(t)
	phone, well := t.ReadPhone(entry)
	if !ok || !well {
		return talk.Refuse(t.Say("wrong.phone", "like", phoneLike))
	}
	agent := t.PersonAt(phone)
	if agent.Role != session.Agent || agent.ID == t.Person.ID || t.Person.Role == session.Coordinator && !t.Person.MayChange(&agent) {
		return talk.Refuse(t.Say("wrong.agent"))
	}
	taken := t.Growers(agent.ID)
	p.Agent, p.Short = agent.ID, programme.FreeShort(shortsOf(taken))
	if p.Short == 0 {
		return talk.Refuse(t.Say("growers.full"))
	}
	t.Save(p)
	t.Note("handed a grower over to another agent", p.ID)
	return talk.Home(t.Say("growers.handed", "name", p.Name))
}
