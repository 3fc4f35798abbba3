package people

import (
	"slices"
	"strings"

	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen/ask"
	"threshline/session/talk"
	"threshline/session/wording"
)

const (
	GrowersScreen  session.ScreenID = "growers"
	pickScreen     session.ScreenID = "pick"
	AddNameScreen  session.ScreenID = "add-name"
	addShortScreen session.ScreenID = "add-short"
	addAgreeScreen session.ScreenID = "add-agree"
)

// Begin begins a check of a grower's lot; the rest of an entry goes on with it.
type Begin func(t *talk.Talk, grower session.Person, rest string) talk.Move

// Screens are those on which somebody new says who they are; what a person can
// set; on which an agent finds, adds and corrects growers, and begins a check of
// theirs; and on which a code for somebody new is made, and taken.
func Screens(begin Begin) []talk.Screen {
	return []talk.Screen{
		{ID: talk.LanguageScreen, Open: true, Show: showLanguages, Take: takeLanguage},
		{ID: talk.ConsentScreen, Open: true, Show: showConsent, Take: takeConsent},
		{ID: nameScreen, Free: true, Show: ask.Saying("who.name", "who.skip"), Take: takeName},
		{ID: districtScreen, Show: showDistricts, Take: takeDistrict},

		{ID: SettingsScreen, Show: showSettings, Take: takeSettings, Help: ask.Helpful("help.general")},
		{ID: toolsScreen, Show: showTools, Take: takeTools, Help: ask.Helpful("help.kit")},
		{ID: tongueScreen, Show: showLanguages, Take: takeLanguage},
		{ID: namedScreen, Show: ask.Saying("named.ask", "consent.yes", "consent.no"), Take: takeNamed, Help: ask.Helpful("help.named")},
		{ID: leaveScreen, Show: ask.Saying("leave.ask", "leave.stop", "leave.forget"), Take: takeLeave},
		{ID: talk.ForgetScreen, Show: showForget, Take: takeForget},

		{ID: GrowersScreen, Show: showGrowers, Take: takeGrowers, Help: ask.Helpful("help.growers"), Free: true},
		{ID: pickScreen, Show: showPick, Take: takePick(begin), Help: ask.Helpful("help.growers")},
		{ID: AddNameScreen, Show: ask.Saying("growers.name"), Take: takeAddName, Help: ask.Helpful("help.enrol"), Free: true},
		{ID: addShortScreen, Show: showAddShort, Take: takeAddShort, Help: ask.Helpful("help.growers")},
		{ID: addAgreeScreen, Show: showAddAgree, Take: takeAddAgree(begin)},

		{ID: growerScreen, Show: showGrower, Take: takeGrower, Help: ask.Helpful("help.growers")},
		{ID: renameScreen, Show: ask.Saying("growers.name"), Take: takeRename, Free: true},
		{ID: renumberScreen, Show: showRenumber, Take: takeRenumber},
		{ID: phoneScreen, Show: showPhone, Take: takePhone, Free: true},
		{ID: handOverScreen, Show: showHandOver, Take: takeHandOver, Free: true},

		{ID: InviteScreen, Show: showInvite, Take: takeInvite},
		{ID: codeScreen, Show: ask.Saying("code.ask"), Take: takeCode, Free: true},
	}
}

// Under lists the person's growers.
func Under(t *talk.Talk) []session.Person { return t.Growers(t.Person.ID) }

func showGrowers(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("growers.ask")+" "+t.Say("growers.count", "count", len(Under(t))), t.Say("growers.add"))
}

// AddKey adds a grower: one more than the short numbers reach.
const AddKey = "100"

// takeGrowers finds a grower to correct; a coordinator also growers and agents of
// their district, by phone number.
func takeGrowers(t *talk.Talk, entry string) talk.Move {
	t.Memo().ForCheck = false
	if ask.First(entry) == AddKey {
		return talk.GoWith(AddNameScreen, ask.After(entry))
	}
	if phone, well := t.ReadPhone(entry); well && t.Person.Role == session.Coordinator {
		person := t.PersonAt(phone)
		if person.ID == "" {
			return talk.Refuse(t.Say("wrong.person"))
		}
		if !t.Person.MayChange(&person) {
			return talk.Refuse(t.Say("wrong.not_yours"))
		}
		t.Memo().Grower = person.ID
		return talk.Go(growerScreen)
	}
	grower, found, move := Find(t, entry, entry)
	if !found {
		return move
	}
	t.Memo().Grower = grower.ID
	return talk.Go(growerScreen)
}

// Find finds by short number, or by the first letters of any word of the
// name. With several or none found, the move leads to where one is picked or
// added.
func Find(t *talk.Talk, key, entry string) (session.Person, bool, talk.Move) {
	if numbers, why := talk.ReadNumbers(key); why == "" && len(numbers) == 1 {
		n, _ := ask.IntOf(numbers[0].Value)
		for _, p := range Under(t) {
			if p.Short == n && n > 0 {
				return p, true, talk.Move{}
			}
		}
		return session.Person{}, false, talk.Refuse(t.Say("wrong.grower", "number", t.Number(numbers[0].Value)))
	}
	letters := t.CleanName(entry)
	if letters == "" {
		return session.Person{}, false, talk.Refuse(t.Say("wrong.name"))
	}
	switch found := Named(t, letters); len(found) {
	case 1:
		return found[0], true, talk.Move{}
	default:
		t.Memo().Search = letters
		return session.Person{}, false, talk.Go(pickScreen)
	}
}

// Named finds growers by the first letters of a word of their name.
func Named(t *talk.Talk, letters string) []session.Person {
	var out []session.Person
	sought := wording.Fold(string(t.Language), letters)
	for _, p := range Under(t) {
		name := wording.Fold(string(t.Language), p.Name)
		begins := strings.HasPrefix(name, sought)
		for _, word := range strings.Fields(name) {
			begins = begins || strings.HasPrefix(word, sought)
		}
		if begins {
			out = append(out, p)
		}
	}
	return out
}

func showPick(t *talk.Talk) talk.Shown {
	letters := t.Memo().Search
	found := Named(t, letters)
	if len(found) == 0 {
		return ask.Says(t.Say("whose.none", "name", letters), t.Say("whose.add", "name", letters))
	}
	shown := ask.Says(t.Say("whose.found"))
	for _, p := range found {
		shown.Options = append(shown.Options, Line(t, p))
	}
	return shown
}

// Line names a person with the number they go by, if they have one.
func Line(t *talk.Talk, p session.Person) string {
	key := "whose.line"
	if p.Village == "" {
		key = "whose.line_short"
	}
	line := t.Say(key, "number", p.Short, "name", p.Name, "village", p.Village)
	if p.Short == 0 {
		return strings.TrimPrefix(line, "0 ")
	}
	return line
}

func takePick(begin Begin) func(*talk.Talk, string) talk.Move {
	return func(t *talk.Talk, entry string) talk.Move {
		n, rest := ask.Choice(entry)
		found := Named(t, t.Memo().Search)
		if len(found) == 0 {
			if n != 1 {
				return ask.WrongChoice(t)
			}
			return talk.GoWith(AddNameScreen, t.Memo().Search)
		}
		i := slices.IndexFunc(found, func(p session.Person) bool { return p.Short == n })
		if i < 0 {
			return ask.WrongChoice(t)
		}
		return use(t, found[i], rest, begin)
	}
}

// use continues with the chosen grower: a check, or the page about them.
func use(t *talk.Talk, p session.Person, rest string, begin Begin) talk.Move {
	if t.Memo().ForCheck {
		return begin(t, p, rest)
	}
	t.Memo().Grower = p.ID
	return talk.Go(growerScreen)
}

// takeAddName takes one grower, or a list of several at once.
func takeAddName(t *talk.Talk, entry string) talk.Move {
	all, wrong := listed(t, entry)
	switch {
	case overlong(entry):
		return talk.Refuse(tooLongName(t))
	case wrong != "" && strings.Count(wrong, ",") > 1 && t.CleanName(wrong) != "":
		return talk.Refuse(t.CleanName(strings.Split(wrong, ",")[0]) + ": " + t.Say("wrong.phone", "like", phoneLike))
	case len(all) == 0:
		return talk.Refuse(t.Say("wrong.name"))
	case freeShort(t) == 0:
		return talk.Home(t.Say("growers.full"))
	}
	t.Memo().Name, t.Memo().Village, t.Memo().Search = all[0].name, all[0].village, entry
	if len(all) > 1 {
		t.Memo().ForCheck = false
		return talk.Go(addAgreeScreen)
	}
	return talk.Go(addShortScreen)
}

// addingSeveral reports whether a list of growers is being added.
func addingSeveral(t *talk.Talk) bool {
	all, _ := listed(t, t.Memo().Search)
	return len(all) > 1
}

// freeShort is the lowest number that no grower of the agent's has; 0 for none.
func freeShort(t *talk.Talk) int { return programme.FreeShort(shortsOf(Under(t))) }

func shortsOf(growers []session.Person) (taken []int) {
	for _, p := range growers {
		taken = append(taken, p.Short)
	}
	return taken
}

func showAddShort(t *talk.Talk) talk.Shown {
	return ask.Says(t.Say("growers.number", "name", t.Memo().Name, "free", freeShort(t)))
}

func takeAddShort(t *talk.Talk, entry string) talk.Move {
	n, _ := ask.Choice(entry)
	if !shortFree(t, n, "") {
		return talk.Refuse(t.Say("wrong.short"))
	}
	t.Memo().Short = n
	return talk.Go(addAgreeScreen)
}

// shortFree reports whether a number can be given to the person.
func shortFree(t *talk.Talk, n int, to session.PersonID) bool {
	taken := slices.ContainsFunc(Under(t), func(p session.Person) bool { return p.Short == n && p.ID != to })
	return n >= 1 && n <= programme.MostShort && !taken
}

func showAddAgree(t *talk.Talk) talk.Shown {
	if addingSeveral(t) {
		return ask.Says(consentAll(t), t.Say("growers.yes"), t.Say("growers.no"))
	}
	return ask.Says(t.Say("growers.consent", "name", t.Memo().Name), t.Say("growers.yes"), t.Say("growers.no"))
}

// takeAddAgree keeps the grower only if they agree, as the agent says.
func takeAddAgree(begin Begin) func(*talk.Talk, string) talk.Move {
	return func(t *talk.Talk, entry string) talk.Move {
		name, short := t.Memo().Name, t.Memo().Short
		all, _ := listed(t, t.Memo().Search)
		switch {
		case len(all) == 0:
			return nextOne("")
		case ask.No(t, entry) && len(all) > 1:
			return nextOne(t.Say("growers.declined", "name", namesOf(all)))
		case ask.No(t, entry):
			return nextOne(t.Say("growers.declined", "name", name))
		case !ask.Yes(t, entry):
			return ask.WrongChoice(t)
		case len(all) > 1:
			return nextOne(enrolAll(t))
		case !shortFree(t, short, ""):
			return talk.Go(addShortScreen)
		}
		p := enrol(t, all[0], short)
		if t.Memo().ForCheck {
			return begin(t, p, "")
		}
		return nextOne(t.Say("growers.added", "name", name, "number", short))
	}
}
