package people

import (
	"strings"

	"threshline/session"
	"threshline/session/screen/ask"
	"threshline/session/talk"
	"threshline/session/wording"
)

// enrolled is one grower of a list that an agent sent: "Asha, Kisima, 06 39 98 12 34".
type enrolled struct {
	name, village string
	phone         session.Phone
}

// listed reads growers, one on each line or separated by semicolons: name,
// village and phone; village and phone may be left out. wrong is the first
// grower without a name, or with an impossible phone number.
func listed(t *talk.Talk, entry string) (all []enrolled, wrong string) {
	for _, line := range strings.FieldsFunc(entry, func(r rune) bool { return r == ';' || r == '\n' }) {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		parts := strings.SplitN(line, ",", 3)
		one := enrolled{name: t.CleanName(parts[0])}
		if len(parts) > 1 {
			one.village = t.CleanName(parts[1])
		}
		if len(parts) > 2 {
			phone, well := t.ReadPhone(parts[2])
			if one.phone = phone; !well || t.PersonAt(phone).ID != "" {
				return nil, line
			}
		}
		if one.name == "" {
			return nil, line
		}
		all = append(all, one)
	}
	return all, ""
}

// AddWord recognises a message that enrols growers: "add Asha, Kisima; Juma".
func AddWord(t *talk.Talk, entry string) (rest string, ok bool) {
	word, rest, _ := strings.Cut(strings.TrimSpace(entry), " ")
	said := t.Hears("accept.add", word) || t.Words.Match("en", "accept.add", word)
	return strings.TrimSpace(rest), said && ask.Agents(t) && t.CleanName(rest) != ""
}

// consentAll asks for several growers at once.
func consentAll(t *talk.Talk) string {
	all, _ := listed(t, t.Memo().Search)
	return t.Say("growers.consent_all", "count", len(all), "names", namesOf(all))
}

func namesOf(all []enrolled) string {
	var names []string
	for _, one := range all {
		names = append(names, one.name)
	}
	return strings.Join(names, ", ")
}

// enrolAll stores the growers of a list, each with the next free number, and
// names every one. A grower who is enrolled already keeps their number.
func enrolAll(t *talk.Talk) string {
	all, _ := listed(t, t.Memo().Search)
	var said []string
	for _, one := range all {
		if p, there := enrolledBefore(t, one); there {
			said = append(said, numberedName(t, p))
			continue
		}
		short := freeShort(t)
		if short == 0 {
			return strings.TrimSpace(strings.Join(said, ", ") + " " + one.name + ": " + t.Say("growers.full"))
		}
		said = append(said, numberedName(t, enrol(t, one, short)))
	}
	return t.Say("growers.added_all", "names", strings.Join(said, ", "))
}

func numberedName(t *talk.Talk, p session.Person) string {
	return t.Say("whose.line_short", "number", p.Short, "name", p.Name)
}

// enrolledBefore finds somebody of that name and village among the agent's growers: a list
// that is sent twice enrols nobody twice.
func enrolledBefore(t *talk.Talk, one enrolled) (session.Person, bool) {
	lang := string(t.Language)
	for _, p := range Under(t) {
		if wording.Fold(lang, p.Name) == wording.Fold(lang, one.name) && wording.Fold(lang, p.Village) == wording.Fold(lang, one.village) {
			return p, true
		}
	}
	return session.Person{}, false
}

// enrol keeps a grower who agreed, as the agent says.
func enrol(t *talk.Talk, one enrolled, short int) session.Person {
	p := t.Save(session.Person{
		Role: session.Grower, Name: one.name, Village: one.village, Phone: one.phone, District: t.Person.District,
		Language: t.Language, Agent: t.Person.ID, Short: short,
		Consent: session.Consent{Version: t.Programme.ConsentVersion, Given: true, At: t.In.At},
	})
	t.Note("added a grower", p.ID)
	return p
}

// nextOne asks for the next grower to enrol, saying what became of the last.
func nextOne(line string) talk.Move { return talk.Instead(AddNameScreen, "").Saying(line) }
