package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session"
	"threshline/session/talk"
)

// simPerson is somebody with a phone, who reads screens and mistypes.
type simPerson struct {
	s        *simulation
	number   session.Phone
	role     session.Role
	name     string
	language session.Language

	sessions, messages int
	inSession          int         // messages
	last               *simMessage // what was delivered last, for one that comes again
	stopped            time.Time   // when STOP was texted
	own                string      // a name that nobody else has
	id                 session.PersonID
}

// settlePeople puts those into the store whom a roster brings, and makes phones
// for those who come by themselves.
func (s *simulation) settlePeople() error {
	agreed := session.Consent{Version: 1, Given: true, At: time.Now()}
	var all []session.Person
	known := func(id session.PersonID, role session.Role, name, district string) {
		number := session.Phone(fmt.Sprintf("+3363998%04d", 1001+len(s.people)))
		lang := []session.Language{"en", "fr", "sw", "ha"}[s.random.IntN(4)]
		s.people = append(s.people, &simPerson{s: s, number: number, role: role, name: name, language: lang, id: id})
		all = append(all, session.Person{ID: id, Phone: number, Role: role, Name: name, District: district, Language: lang, Consent: agreed, Joined: time.Now()})
	}
	known("chief", session.Coordinator, "Chausiku", "")
	known("kisima", session.Coordinator, "Kadiri", "Kisima")
	for i, district := range []string{"Kisima", "Upper Mbuyu"} {
		id := session.PersonID(fmt.Sprint("agent", i))
		known(id, session.Agent, []string{"Neema", "Baraka"}[i], district)
		for n := range 3 {
			all = append(all, session.Person{
				ID: session.PersonID(fmt.Sprint(id, "grower", n)), Role: session.Grower, Name: []string{"Asha", "Juma", "Zawadi"}[n],
				District: district, Agent: id, Short: n + 1, Consent: agreed, Joined: time.Now(),
			})
		}
	}
	for i := range 5 {
		s.people = append(s.people, &simPerson{s: s, number: session.Phone(fmt.Sprintf("+3363998%04d", 2001+i)), role: session.Grower, language: "en", own: ownNames[i]})
	}
	_, err := s.station.store.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{People: all, Reply: session.Reply{Silent: true}}, nil
	})
	return err
}

// ownNames are names of growers who come by themselves, each of one alone.
var ownNames = []string{"Halimatu", "Salumeni", "Mwanaidi", "Kheriyah", "Tumainiel"}

// step lets one thing happen.
func (s *simulation) step() {
	if newer(s.seed) && s.chance(20) {
		s.moves()
		return
	}
	switch n := s.random.IntN(100); {
	case n < 34:
		s.anybody().talk()
	case n < 62:
		s.anybody().text()
	case n < 72:
		s.again()
	case n < 82:
		s.note("time")
		s.pass(time.Duration(1+s.random.IntN(600)) * time.Minute)
	case n < 86:
		s.note("days")
		s.pass(time.Duration(1+s.random.IntN(6*24)) * time.Hour)
	case n < 90:
		s.carrier.bring()
	case n < 93:
		s.setClock()
	case n < 95 && s.file != nil && s.chance(2):
		s.crash()
	case n < 95 && s.file != nil && s.chance(3):
		s.rot()
	case n < 95:
		s.stop(time.Duration(s.random.IntN(120)) * time.Minute)
	case n < 96:
		s.storm()
	case n < 97:
		s.manyMouldy()
	default:
		s.truth.keys.turn(s)
	}
}

// anybody is one who talks: in every other run one coordinator never does.
func (s *simulation) anybody() *simPerson {
	if s.seed%2 == 0 {
		return s.people[1+s.random.IntN(len(s.people)-1)]
	}
	return s.people[s.random.IntN(len(s.people))]
}

// setClock puts the clock wrong, by seconds or by years, or right again; in every
// third run it goes right.
func (s *simulation) setClock() {
	if s.seed%3 == 0 {
		return
	}
	if s.offset != 0 && !s.chance(3) {
		s.offset = 0
	} else {
		by := []time.Duration{3 * time.Second, time.Minute, time.Hour, 30 * time.Hour, 10 * 24 * time.Hour, 4 * 365 * 24 * time.Hour}[s.random.IntN(6)]
		if s.chance(2) {
			by = -by
		}
		s.offset, s.jumped = by, true
	}
	s.note("the clock is off by %s", s.offset)
	s.happened.add("clock")
}

// storm lets many strangers say hello.
func (s *simulation) storm() {
	s.note("storm")
	s.happened.add("storm")
	for range 40 {
		s.strangers++
		p := &simPerson{s: s, number: session.Phone(fmt.Sprintf("+3363998%04d", 3000+s.strangers%7000))}
		p.send(session.SMS, "hello", "")
	}
}

// manyMouldy has one reporter find mould in lot after lot.
func (s *simulation) manyMouldy() {
	p := s.anybody()
	for i := range 7 {
		time.Sleep(time.Minute)
		text := fmt.Sprintf("M 13.%d 13.8 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 C 100 P 0 Y 1 R 2 V 1 BAG %dx75 mould", i, 50+i)
		if p.role == session.Agent {
			text = "2 " + text
		}
		s.truth.checkSigns(s, p.send(session.SMS, text, ""), grading.Mouldy)
	}
}

// keyed are entries that screens take, by screen; elsewhere keys are tried.
var keyed = map[session.ScreenID][]string{
	talk.LanguageScreen: {"1"}, talk.ConsentScreen: {"1"}, talk.MenuScreen: {"1", "1", "1", "3"},
	"name": {"Halima", "Salum"}, "whose": {"1", "2", "3"}, "bags": {"8", "12", "0 600"}, "spear": {"1"},
	"moisture": {"13.8 14.1 13.9", "13.8 13.8 13.9", "15.2 15.1", "19.1 18.9"}, "sample": {"200"}, "dirt": {"2.4 0.6", "1.2 0.1"},
	"husk": {"155.2 1.1"}, "pan": {"0 1 2 0", "0 1 5 0"}, "first": {"13.8 14.1 13.9 200 2.4 0.6"}, "second": {"155.2 1.1 0 1 2 0"},
	"seen": {"1", "1", "3", "2 3", "5", "6", "99"}, "smell": {"1", "2"}, "insects": {"2 0", "0 1"}, "look": {"1", "3"}, "look-smell": {"1", "2"},
	"sum": {"1", "1", "1", "8"}, "doubt": {"1", "1", "2"}, "zero": {"1", "2"}, "agree": {"1"}, "grade": {"00", "1", "2"}, "unfinished": {"1", "2"},
}

// talk is a session by USSD: some keys, wrong ones among them, and perhaps a drop.
func (p *simPerson) talk() {
	time.Sleep(3 * time.Second) // nobody dials in no time
	p.sessions++
	p.inSession = 0
	sid := fmt.Sprintf("s%s-%d", string(p.number[1:]), p.sessions)
	if p.s.reusesIDs() {
		sid = "s" + string(p.number[1:])
	}
	m := p.send(session.USSD, "", sid)
	for range 4 + p.s.random.IntN(14) {
		if m == nil || !m.more || p.s.problem != nil || p.s.chance(25) {
			return // ended, or the network dropped
		}
		var screen session.ScreenID
		p.s.read(func(v session.View) error {
			d, err := v.Dialogue(p.number)
			screen = d.Screen
			return err
		})
		ways := keyed[screen]
		if newer(p.s.seed) {
			ways = p.newerWays(screen)
		}
		if len(ways) == 0 {
			ways = []string{"1", "2", "1", "00"}
		}
		entry := ways[p.s.random.IntN(len(ways))]
		if p.s.chance(12) {
			entry = []string{"0", "99", "?", "7", "abc", "1 2 3 4 5 6 7", "00"}[p.s.random.IntN(7)]
		}
		time.Sleep(time.Duration(2+p.s.random.IntN(25)) * time.Second)
		m = p.send(session.USSD, entry, sid)
	}
}

// signWords are what a whole check may say of its signs, and the flag that must
// then be filed.
var signWords = []struct {
	word string
	flag grading.Flag
}{
	{"", ""}, {"", ""}, {"OK", ""}, {"mould", grading.Mouldy}, {"mouldy", grading.Mouldy}, {"treated seed", grading.TreatedSeed}, {"chemical smell", grading.OffOdour},
}

// text is a message by SMS.
func (p *simPerson) text() {
	r := p.s.random
	time.Sleep(time.Duration(r.IntN(300)) * time.Second)
	if newer(p.s.seed) && p.s.chance(6) {
		p.byHand()
		return
	}
	switch n := r.IntN(20); {
	case n < 11:
		sign := signWords[r.IntN(len(signWords))]
		text := fmt.Sprintf("M 13.%d 13.%d 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 C 100 P 0 Y 1 R 2 V 1 BAG %dx75", r.IntN(10), r.IntN(10), 2+r.IntN(40))
		if p.role == session.Agent {
			text = fmt.Sprintf("%d %s", 1+r.IntN(3), text)
		}
		m := p.send(session.SMS, strings.TrimSpace(text+" "+sign.word), "")
		p.s.truth.checkSigns(p.s, m, sign.flag)
	case n < 14:
		p.send(session.SMS, []string{"OK", "1", "hello", "8 75", "?", "WEEK", "2"}[r.IntN(7)], "")
	case n < 17:
		p.lookUp()
	case n == 17 && p.s.chance(2):
		p.send(session.SMS, "STOP", "")
	case n == 18 && p.role == session.Grower && p.s.chance(6):
		p.leave()
	default:
		p.send(session.SMS, "START", "")
	}
}

// lookUp asks about a slip, as a buyer does.
func (p *simPerson) lookUp() {
	slips := p.s.truth.slips
	if len(slips) == 0 {
		return
	}
	slip := slips[p.s.random.IntN(len(slips))]
	outgoing := len(p.s.truth.order)
	if m := p.send(session.SMS, string(slip), ""); m != nil {
		p.s.truth.lookedUp(p.s, p, slip, p.s.truth.order[outgoing:])
	}
}

// leave has the person forgotten.
func (p *simPerson) leave() {
	p.send(session.SMS, "FORGET ME", "")
	p.send(session.SMS, "1", "")
}

// gone notes that somebody was forgotten by a message of their own.
func (p *simPerson) gone() {
	p.s.note("%s is forgotten", string(p.number))
	p.s.happened.add("left")
	p.s.truth.forgotten = append(p.s.truth.forgotten, string(p.number))
	if p.own != "" {
		p.s.truth.forgotten = append(p.s.truth.forgotten, p.own)
	}
	p.s.people = slices.DeleteFunc(p.s.people, func(o *simPerson) bool { return o == p })
}
