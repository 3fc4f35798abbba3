package screen

import (
	"slices"
	"strings"

	"threshline/session"
	"threshline/session/wording"
)

const (
	growersScreen  session.ScreenID = "growers"
	pickScreen     session.ScreenID = "pick"
	addNameScreen  session.ScreenID = "add-name"
	addShortScreen session.ScreenID = "add-short"
	addAgreeScreen session.ScreenID = "add-agree"
)

// What the screens about growers remember.
const (
	memoGrower  = "grower"  // the person's ID
	memoFound   = "found"   // letters searched for
	memoThen    = "then"    // "check" to begin a check with who is found
	memoNewName = "name"    // of a grower being added
	memoVillage = "village" // likewise
	memoShort   = "short"   // likewise
)

// growers are the screens on which an agent finds and adds growers.
func growers() []session.Screen {
	return []session.Screen{
		{ID: growersScreen, Show: showGrowers, Take: takeGrowers, Help: helpful("help.growers"), Free: true},
		{ID: pickScreen, Show: showPick, Take: takePick, Help: helpful("help.growers")},
		{ID: addNameScreen, Show: showAddName, Take: takeAddName, Free: true},
		{ID: addShortScreen, Show: showAddShort, Take: takeAddShort, Help: helpful("help.growers")},
		{ID: addAgreeScreen, Show: showAddAgree, Take: takeAddAgree},
	}
}

// under lists the growers that the person looks after.
func under(t *session.Talk) []session.Person { return t.Growers(t.Person.ID) }

func showGrowers(t *session.Talk) session.Shown {
	return says(t.Say("growers.ask")+" "+t.Say("growers.count", "count", len(under(t))), t.Say("growers.add"))
}

// addKey adds a grower: one more than the short numbers reach.
const addKey = "100"

// takeGrowers finds a grower to mend; a coordinator also anybody by their
// phone number, to move their record to a new one.
func takeGrowers(t *session.Talk, entry string) session.Move {
	if entry == addKey {
		return session.Go(addNameScreen)
	}
	if phone, well := readPhone(entry); well && t.Person.Role == session.Coordinator {
		person := t.PersonAt(phone)
		if person.ID == "" {
			return session.Refuse(t.Say("wrong.person"))
		}
		t.Remember(memoGrower, string(person.ID))
		return session.Go(growerScreen)
	}
	grower, found, move := findGrower(t, entry, entry)
	if !found {
		return move
	}
	t.Remember(memoGrower, string(grower.ID))
	return session.Go(growerScreen)
}

// findGrower finds by short number, or by the first letters of any word of the
// name. With several or none found, the move leads to where one is picked or
// added.
func findGrower(t *session.Talk, key, entry string) (session.Person, bool, session.Move) {
	then := ""
	if t.Dialogue.Screen == whoseScreen {
		then = "check"
	}
	t.Remember(memoThen, then)
	if numbers, why := session.ReadNumbers(key); why == "" && len(numbers) == 1 {
		n, _ := intOf(numbers[0].Value)
		for _, p := range under(t) {
			if p.Short == n && n > 0 {
				return p, true, session.Move{}
			}
		}
		return session.Person{}, false, session.Refuse(t.Say("wrong.grower", "number", t.Number(numbers[0].Value)))
	}
	letters := t.CleanName(entry)
	if letters == "" {
		return session.Person{}, false, session.Refuse(t.Say("wrong.name"))
	}
	switch found := named(t, letters); len(found) {
	case 1:
		return found[0], true, session.Move{}
	default:
		t.Remember(memoFound, letters)
		return session.Person{}, false, session.Go(pickScreen)
	}
}

// named finds growers by the first letters of a word of their name.
func named(t *session.Talk, letters string) []session.Person {
	var out []session.Person
	sought := wording.Fold(string(t.Lang()), letters)
	for _, p := range under(t) {
		name := wording.Fold(string(t.Lang()), p.Name)
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

func showPick(t *session.Talk) session.Shown {
	letters := t.Memo(memoFound)
	found := named(t, letters)
	if len(found) == 0 {
		return says(t.Say("whose.none", "name", letters), t.Say("whose.add", "name", letters))
	}
	shown := says(t.Say("whose.found"))
	for _, p := range found {
		shown.Options = append(shown.Options, growerLine(t, p))
	}
	return shown
}

// growerLine names a person with the number they go by, if they have one.
func growerLine(t *session.Talk, p session.Person) string {
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

func takePick(t *session.Talk, entry string) session.Move {
	n, rest := choice(entry)
	found := named(t, t.Memo(memoFound))
	if len(found) == 0 {
		if n != 1 {
			return wrongChoice(t)
		}
		return session.GoWith(addNameScreen, t.Memo(memoFound))
	}
	i := slices.IndexFunc(found, func(p session.Person) bool { return p.Short == n })
	if i < 0 {
		return wrongChoice(t)
	}
	return use(t, found[i], rest)
}

// use goes on with a grower: a check, or the page about them.
func use(t *session.Talk, p session.Person, rest string) session.Move {
	if t.Memo(memoThen) == "check" {
		return beginFor(t, p, rest)
	}
	t.Remember(memoGrower, string(p.ID))
	return session.Go(growerScreen)
}

func showAddName(t *session.Talk) session.Shown { return says(t.Say("growers.name")) }

func takeAddName(t *session.Talk, entry string) session.Move {
	name, village := nameAndVillage(t, entry)
	if name == "" {
		return session.Refuse(t.Say("wrong.name"))
	}
	if freeShort(t) == 0 {
		return session.Home(t.Say("growers.full"))
	}
	t.Remember(memoNewName, name)
	t.Remember(memoVillage, village)
	return session.Go(addShortScreen)
}

// freeShort is the lowest number that no grower of the agent's has; 0 for none.
func freeShort(t *session.Talk) int { return session.FreeShort(shortsOf(under(t))) }

func shortsOf(growers []session.Person) (taken []int) {
	for _, p := range growers {
		taken = append(taken, p.Short)
	}
	return taken
}

func showAddShort(t *session.Talk) session.Shown {
	return says(t.Say("growers.number", "name", t.Memo(memoNewName), "free", freeShort(t)))
}

func takeAddShort(t *session.Talk, entry string) session.Move {
	n, _ := choice(entry)
	if !shortFree(t, n, "") {
		return session.Refuse(t.Say("wrong.short"))
	}
	t.Remember(memoShort, itoa(n))
	return session.Go(addAgreeScreen)
}

// shortFree tells whether a number can be given to the person.
func shortFree(t *session.Talk, n int, to session.PersonID) bool {
	taken := slices.ContainsFunc(under(t), func(p session.Person) bool { return p.Short == n && p.ID != to })
	return n >= 1 && n <= session.MostShort && !taken
}

func showAddAgree(t *session.Talk) session.Shown {
	return says(t.Say("growers.consent", "name", t.Memo(memoNewName)), t.Say("growers.yes"), t.Say("growers.no"))
}

// takeAddAgree keeps the grower only if they agree, as the agent says.
func takeAddAgree(t *session.Talk, entry string) session.Move {
	name, short := t.Memo(memoNewName), t.MemoInt(memoShort)
	switch {
	case no(t, entry):
		return session.Home(t.Say("growers.declined", "name", name))
	case !yes(t, entry):
		return wrongChoice(t)
	case !shortFree(t, short, ""):
		return session.Go(addShortScreen)
	}
	p := t.Save(session.Person{
		Role: session.Grower, Name: name, Village: t.Memo(memoVillage), District: t.Person.District,
		Language: t.Lang(), Agent: t.Person.ID, Short: short,
		Consent: session.Consent{Version: t.Programme.ConsentVersion, Given: true, At: t.In.At},
	})
	t.Note("added a grower", p.ID)
	if t.Memo(memoThen) == "check" {
		return beginFor(t, p, "")
	}
	return session.Home(t.Say("growers.added", "name", name, "number", short))
}
