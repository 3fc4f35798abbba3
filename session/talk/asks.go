package talk

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"threshline/session"
	"threshline/session/programme"
)

// Reads says what the entries on a screen, and the screens that they lead to,
// have read besides the dialogue and its person. Whole checks and slips in a
// message are foreseen by the message: see Foresee.
type Reads uint

// What may be read.
const (
	ReadsShown   Reads = 1 << iota // the check that is shown, and its lot
	ReadsLot                       // the lot of the check under way, and the check before
	ReadsAlarm                     // who is told of a danger, and how much the person told
	ReadsOwn                       // the person's own checks
	ReadsKit                       // who nearby has the kit
	ReadsRoster                    // the person's growers
	ReadsGrower                    // the grower who is shown
	ReadsDrafts                    // whose the checks under way are
	ReadsListed                    // the last of the person's own checks, one by one
	ReadsNothing Reads = 0
)

// mostForeseen is how many of a grower's checks are read before they are asked for.
const mostForeseen = max(mostAlike, 3*programme.MostPast)

// MostListed is how many of a person's own checks are listed: one digit each.
const MostListed = 8

// asks are what the next turn may ask, by the screen that it comes to.
func (t *Talk) asks() []session.Ask {
	asks := []session.Ask{}
	add := func(kind session.AskKind, id string, n int) {
		asks = append(asks, session.Ask{Kind: kind, ID: id, N: n})
	}
	check := func(slip session.Slip, n int) {
		if slip != "" {
			add(session.AskCheck, string(slip), n)
		}
	}
	screen, m := t.screen(), t.Memo()
	reads := ReadsNothing
	if screen != nil {
		reads = screen.Reads
	}
	if trail := t.Dialogue.Trail; screen != nil && (screen.ID == HowScreen || screen.ID == ZeroScreen) && len(trail) > 0 {
		if asked := t.machine.Screens[trail[len(trail)-1]]; asked != nil { // where "back" leads
			reads |= asked.Reads
		}
	}
	if reads&ReadsShown != 0 {
		check(m.Slip, mostForeseen)
	}
	if draft := t.Draft(); draft != nil {
		n := 0
		if reads&ReadsLot != 0 {
			n = mostForeseen
		}
		if n > 0 || draft.Lot.Grower != "" {
			add(session.AskGrower, string(draft.Lot.Grower), n)
		}
		for _, slip := range [...]session.Slip{draft.Recheck, draft.Corrects} {
			check(slip, n)
		}
	}
	if reads&ReadsDrafts != 0 {
		for _, draft := range t.Dialogue.Drafts {
			if draft.Lot.Grower != "" {
				add(session.AskGrower, string(draft.Lot.Grower), mostForeseen)
			}
			check(draft.Recheck, mostForeseen)
		}
	}
	for _, c := range t.writes.Checks { // of what was filed now the next entry asks
		check(c.Slip, mostForeseen)
	}
	if reads&ReadsListed != 0 { // one is about to be chosen
		for _, c := range t.MyChecks(MostListed) {
			check(c.Slip, mostForeseen)
		}
	}
	if reads&(ReadsAlarm|ReadsOwn) != 0 {
		add(session.AskOwn, "", mostForeseen)
	}
	if reads&ReadsAlarm != 0 {
		add(session.AskCoordinators, "", 0)
	}
	if reads&ReadsKit != 0 {
		add(session.AskNamed, t.Person.District, 0)
	}
	if reads&ReadsRoster != 0 {
		add(session.AskRoster, "", 0)
	}
	if reads&ReadsGrower != 0 && m.Grower != "" {
		add(session.AskGrower, string(m.Grower), 0)
		if p := t.PersonOf(m.Grower); p.Phone != "" {
			add(session.AskPhone, string(p.Phone), 0)
		}
	}
	if weeks := t.machine.weeks(); t.Person.Role == session.Coordinator && weeks != nil {
		for _, slip := range weeks.Running.Districts[t.Person.District].Newest {
			check(slip, 0)
		}
	}
	if m.Invitation != "" {
		add(session.AskInvite, m.Invitation, 0)
	}
	if m.First != "" { // a whole check that waits to be answered
		asks = append(asks, t.machine.Foresee(m.First)...)
	}
	return append(asks, t.machine.phonesIn(m.Search)...)
}

// anew are what the menu reads, for a message that comes to it out of nothing.
var anew = []session.Ask{
	{Kind: session.AskOwn, N: mostForeseen, Anew: true}, {Kind: session.AskCoordinators, Anew: true},
	{Kind: session.AskNamed, Anew: true}, {Kind: session.AskRoster, Anew: true},
}

// mostNamed bounds how many slips or phones are looked for in one message.
const mostNamed = 4

// Foresee lists what the turn of a message may ask, as far as its text alone
// says: slips, codes and phones named in it, and of words what a whole check
// asks.
func (m *Machine) Foresee(text string) []session.Ask {
	text = strings.TrimSpace(shorten(text))
	if text == "" {
		return nil
	}
	asks := append(m.phonesIn(text), anew...)
	words := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(".,:;()*#", r) })
	if len(words) == 0 {
		return asks
	}
	slips := 0
	for i := range words {
		for _, most := range [...]int{1, 2} { // a slip may be written in two parts
			if slip, ok := session.ParseSlip(strings.Join(words[i:min(i+most, len(words))], " ")); ok && slips < mostNamed {
				slips++
				asks = append(asks, session.Ask{Kind: session.AskCheck, ID: string(slip), N: mostForeseen})
			}
		}
	}
	for _, part := range [...]string{text, words[len(words)-1]} {
		if code, ok := session.ParseCode(part); ok {
			asks = append(asks, session.Ask{Kind: session.AskInvite, ID: code})
			break
		}
	}
	if weeks := m.weeks(); weeks != nil && (text == WeekKey || m.asksWeek(text)) {
		asks = append(asks, visits(weeks.Running, text == WeekKey)...)
	}
	if !strings.ContainsFunc(text, unicode.IsLetter) {
		return asks
	}
	asks = append(asks, session.Ask{Kind: session.AskOwn, N: mostForeseen}, session.Ask{Kind: session.AskCoordinators},
		session.Ask{Kind: session.AskNamed}, session.Ask{Kind: session.AskRoster})
	for _, lot := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' }) {
		if named, number := growerIn(strings.Fields(lot)); (named != "" || number > 0) && len(asks) < mostAsks {
			asks = append(asks, session.Ask{Kind: session.AskMember, ID: named, N: number})
		}
	}
	return asks
}

// asksWeek reports whether a text is a coordinator's word for the week, in any
// language of the programme.
func (m *Machine) asksWeek(text string) bool {
	v := Voice{Programme: m.Programme, Words: m.Words}
	return v.hearsAny("accept.week", text)
}

// visits are the lots to visit, in whose district is not known yet; anew, where the
// message may be an entry on any other screen.
func visits(week programme.SevenDays, anew bool) (asks []session.Ask) {
	for _, district := range slices.Sorted(maps.Keys(week.Districts)) {
		for _, slip := range week.Districts[district].Newest {
			if len(asks) < mostAsks {
				asks = append(asks, session.Ask{Kind: session.AskCheck, ID: string(slip), Anew: anew})
			}
		}
	}
	return asks
}

// mostAsks bounds how many questions one message raises.
const mostAsks = 100

// growerIn is whom of the growers a message may name: by its first word of
// letters alone, or its first number.
func growerIn(words []string) (name string, number int) {
	for _, word := range words {
		digits := strings.IndexFunc(word, unicode.IsDigit)
		if digits < 0 && name == "" && len(word) > 2 {
			name = session.PlainName(word)
		}
		if digits >= 0 && number == 0 {
			number, _ = strconv.Atoi(strings.TrimLeftFunc(word, unicode.IsLetter))
		}
	}
	if number > programme.MostShort {
		number = 0
	}
	return name, number
}

// phonesIn are the questions about telephone numbers in a text: the whole text,
// or one at the end of each line or part.
func (m *Machine) phonesIn(text string) (asks []session.Ask) {
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ';' || r == '\n' || r == ',' }) {
		if phone, ok := m.ReadPhone(part); ok && len(asks) < mostNamed {
			asks = append(asks, session.Ask{Kind: session.AskPhone, ID: string(phone)})
		}
	}
	return asks
}
