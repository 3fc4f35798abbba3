package postgres

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

// asksText writes questions as the tables keep them: a line each, of the kind, a
// number of three digits and what it is about.
func asksText(asks []session.Ask) string {
	var out strings.Builder
	for _, a := range asks {
		if a.Kind == session.AskNamed && a.ID != "" {
			a.ID = fmt.Sprint(int64(placeOf(a.ID)))
		}
		if within("what is asked", a.ID) != nil || strings.ContainsAny(a.ID, "\n%_\\") {
			continue // it is asked late
		}
		if a.Anew {
			out.WriteByte('*')
		}
		fmt.Fprintf(&out, "%c%03d%s\n", a.Kind, min(max(a.N, 0), 999), a.ID)
	}
	return out.String()
}

// asksOfPeople matches questions that hold a name or a number: [session.AskMember],
// [session.AskPhone].
const asksOfPeople = `(^|\n)[*]?[ht]`

var names = regexp.MustCompile(asksOfPeople)

// asksSQL answers for each phone what its message and its dialogue ask.
const asksSQL = "select number, place, part, owner, id, version, at, value from read_along($1, $2, $3, $4)"

// stored is a record as it lies in the database; without a value there is none.
type stored struct {
	version, position int64
	value             []byte
}

// listed are the newest n checks of one person, or all.
type listed struct {
	n    int
	list []stored
}

// known is what was read along with a dialogue: the answers to questions.
// Whatever is not in a map was not asked.
type known struct {
	people    map[session.PersonID]stored
	phones    map[session.Phone]stored
	rosters   map[session.PersonID][]stored
	checks    map[session.Slip]stored
	of, by    map[session.PersonID]listed
	named     map[int64][]stored
	invites   map[string]stored
	dialogues map[session.Phone]stored

	coordinators    []stored
	allCoordinators bool
}

func newKnown() *known {
	return &known{
		people: map[session.PersonID]stored{}, phones: map[session.Phone]stored{}, rosters: map[session.PersonID][]stored{},
		checks: map[session.Slip]stored{}, of: map[session.PersonID]listed{}, by: map[session.PersonID]listed{},
		named: map[int64][]stored{}, invites: map[string]stored{}, dialogues: map[session.Phone]stored{},
	}
}

// piece is one of asksSQL's.
type piece struct {
	place           int
	part, owner, id string
	stored
}

// scanAsks gives each lookup of a group the rows that are its own.
func scanAsks(results pgx.BatchResults, group []*lookup) error {
	rows, err := results.Query()
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var number int
		var r piece
		if err := rows.Scan(&number, &r.place, &r.part, &r.owner, &r.id, &r.version, &r.position, &r.value); err != nil {
			return err
		}
		l := group[number-1]
		l.rows = append(l.rows, r)
	}
	return rows.Err()
}

// meet makes the phone's person known.
func (l *lookup) meet() error {
	l.known = newKnown()
	if l.person == nil {
		return nil
	}
	me, err := personOf(l.personVersion, l.person)
	l.me = &me
	l.known.people[me.ID] = stored{version: l.personVersion, value: l.person}
	return err
}

// answer makes what was read along into answers.
func (l *lookup) answer() error {
	if err := l.meet(); err != nil {
		return err
	}
	asks, k := append(parseAsks(l.asks), parseAsks(l.kept)...), l.known
	byAsk := make([][]piece, len(asks))
	for _, r := range l.rows {
		if r.place > len(asks) {
			return errors.New("postgres: an answer to no question")
		}
		byAsk[r.place-1] = append(byAsk[r.place-1], r)
		k.keep(r)
	}
	for i, a := range asks {
		if a.Anew && !l.rested {
			continue
		}
		if err := l.settle(a, byAsk[i]); err != nil {
			return err
		}
	}
	return nil
}

// keep keeps a record under its own key.
func (k *known) keep(r piece) {
	switch r.part {
	case "k", "o", "b":
		k.checks[session.Slip(r.id)] = r.stored
	case "p", "r", "c", "n":
		k.people[session.PersonID(r.id)] = r.stored
	case "i":
		k.invites[r.id] = r.stored
	case "d":
		k.dialogues[session.Phone(r.id)] = r.stored
	}
}

// settle notes what a question is the answer to, also where nothing was found.
func (l *lookup) settle(a session.Ask, rows []piece) error {
	k := l.known
	part := func(part string) (list []stored) {
		for _, r := range rows {
			if r.part == part {
				list = append(list, r.stored)
			}
		}
		return list
	}
	switch a.Kind {
	case session.AskCheck:
		if found := part("k"); len(found) == 0 {
			k.checks[session.Slip(a.ID)] = stored{}
		}
		for _, r := range rows {
			if r.part == "o" {
				k.list(k.of, session.PersonID(r.owner), a.N, part("o"))
				break
			}
		}
	case session.AskGrower:
		id := session.PersonID(a.ID)
		if _, found := k.people[id]; !found {
			k.people[id] = stored{}
		}
		k.list(k.of, id, a.N, part("o"))
	case session.AskOwn:
		if l.me != nil {
			k.list(k.of, l.me.ID, a.N, owned(rows, string(l.me.ID)))
			k.list(k.by, l.me.ID, a.N, part("b"))
			for _, r := range rows {
				if r.part == "b" { // the newest
					if c, err := checkOf(r.version, r.position, r.value); err != nil {
						return err
					} else if c.Lot.Grower != "" && c.Lot.Grower != l.me.ID {
						k.list(k.of, c.Lot.Grower, a.N, owned(rows, string(c.Lot.Grower)))
					}
					break
				}
			}
		}
	case session.AskRoster:
		if l.me != nil {
			k.rosters[l.me.ID] = part("r")
		}
	case session.AskMember:
		for _, r := range rows {
			if r.part == "h" {
				k.list(k.of, session.PersonID(r.id), session.MostOfMember, owned(rows, r.id))
			}
		}
	case session.AskCoordinators:
		k.coordinators, k.allCoordinators = part("c"), true
	case session.AskNamed:
		if district := part("m"); len(district) > 0 {
			k.named[district[0].version] = part("n")
		}
	case session.AskInvite:
		found := part("i")
		if len(found) == 0 {
			k.invites[a.ID] = stored{}
			return nil
		}
		var i session.Invite
		if err := record.Decode(found[0].value, &i, record.Invite); err != nil {
			return fmt.Errorf("postgres: an invitation: %w", err)
		}
		for _, p := range part("p") {
			if who, err := personOf(p.version, p.value); err != nil {
				return err
			} else if who.ID == i.Person {
				l.whole(who, part("r"))
			}
		}
	case session.AskPhone:
		k.phones[session.Phone(a.ID)] = stored{}
		if _, found := k.dialogues[session.Phone(a.ID)]; !found {
			k.dialogues[session.Phone(a.ID)] = stored{}
		}
		if found := part("p"); len(found) > 0 {
			k.phones[session.Phone(a.ID)] = found[0]
			who, err := personOf(found[0].version, found[0].value)
			if err != nil {
				return err
			}
			l.whole(who, part("r"))
		}
	}
	return nil
}

// whole keeps somebody's growers and that their dialogue was looked for.
func (l *lookup) whole(who session.Person, growers []stored) {
	l.known.rosters[who.ID] = growers
	if _, found := l.known.dialogues[who.Phone]; !found {
		l.known.dialogues[who.Phone] = stored{}
	}
}

// list keeps a list of checks of or by one person, unless a longer one is kept.
func (k *known) list(of map[session.PersonID]listed, id session.PersonID, n int, list []stored) {
	if was, kept := of[id]; n > 0 && (!kept || was.n < n) {
		of[id] = listed{n, list}
	}
}

// owned are the checks of one grower among rows.
func owned(rows []piece, owner string) (list []stored) {
	for _, r := range rows {
		if r.part == "o" && r.owner == owner {
			list = append(list, r.stored)
		}
	}
	return list
}

// enough returns the newest n checks of a list, if it has them: fewer than were
// asked for are all there are.
func (l listed) enough(n int) ([]stored, bool) {
	if l.n == 0 || n > l.n && len(l.list) == l.n {
		return nil, false
	}
	return l.list[:min(n, len(l.list))], true
}

// parseAsks reads what asksText wrote.
func parseAsks(text string) (asks []session.Ask) {
	for line := range strings.Lines(text) {
		line, anew := strings.CutPrefix(line, "*")
		if len(line) < 5 {
			continue
		}
		n, _ := strconv.Atoi(line[1:4])
		asks = append(asks, session.Ask{Kind: session.AskKind(line[0]), ID: strings.TrimSuffix(line[4:], "\n"), N: n, Anew: anew})
	}
	return asks
}
