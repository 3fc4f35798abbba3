package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"threshline/session"
)

// simMove is a person who has another phone since.
type simMove struct {
	id       session.PersonID
	was, now session.Phone
	queued   int // messages of ours, before: the clocks of gateways differ
}

// moves gives somebody who works for the programme another phone, by a code of the
// desk that the new one sends. The old one stays in somebody's hands.
func (s *simulation) moves() {
	p := s.people[s.random.IntN(len(s.people))]
	if p.id == "" || len(s.truth.moved) >= 3 {
		return
	}
	var who session.Person
	s.read(func(v session.View) (err error) {
		who, err = v.Person(p.id)
		return err
	})
	code := session.NewInviteCode(s.random.Uint64())
	_, err := s.station.store.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{
			Invites: []session.Invite{{Code: code, Role: who.Role, District: who.District, Person: p.id, Expires: s.station.clock.Now().Add(72 * time.Hour)}},
			Reply:   session.Reply{Silent: true},
		}, nil
	})
	if err != nil {
		s.wrong(ruleRest, "make a code: %w", err)
		return
	}
	q := &simPerson{s: s, number: session.Phone(fmt.Sprintf("+3363998%04d", 1501+len(s.truth.moved))), role: p.role, name: p.name, language: p.language, id: p.id}
	for _, text := range []string{"JOIN " + code, "1", "1"} { // language and consent are asked of a new phone
		time.Sleep(time.Minute)
		q.send(session.SMS, text, "")
		if s.phoneOf(p.id) == q.number {
			break
		}
	}
	if s.phoneOf(p.id) != q.number {
		return // the desk's code waits
	}
	s.note("%s moved to %s", p.id, string(q.number))
	s.happened.add("moved")
	s.truth.moved = append(s.truth.moved, simMove{p.id, p.number, q.number, len(s.truth.order)})
	t := s.truth
	t.weeks[q.number], t.digests[q.number], t.noDigest[q.number] = t.weeks[p.number], t.digests[p.number], t.noDigest[p.number]
	q.stopped = p.stopped
	s.people = slices.DeleteFunc(s.people, func(o *simPerson) bool { return o == p })
	s.people = append(s.people, q)
	old := &simPerson{s: s, number: p.number, role: session.Grower, language: "en", sessions: p.sessions, messages: p.messages, inSession: p.inSession, last: p.last}
	s.people = append(s.people, old)
}

// phoneOf is the number that a person is known by.
func (s *simulation) phoneOf(id session.PersonID) (number session.Phone) {
	s.read(func(v session.View) error {
		p, err := v.Person(id)
		number = p.Phone
		return err
	})
	return number
}

// movedAlone holds that who moved is known by the new phone, and that nothing goes to
// the old one that is not an answer, or told about the move.
func (t *truth) movedAlone(s *simulation) {
	for _, m := range t.moved {
		if got := s.phoneOf(m.id); got != m.now && !slices.ContainsFunc(t.moved, func(o simMove) bool { return o.id == m.id && o.was == m.now }) {
			s.wrong(ruleMoved, "%s is known by %s, and moved to %s", m.id, string(got), string(m.now))
		}
		for _, o := range t.order[m.queued:] {
			if o.To == m.was && o.Purpose.Unprompted() && !s.jumped && !t.theirs(m.was) {
				s.wrong(ruleMoved, "%q goes to %s, whose person moved", o.Text, string(m.was))
			}
		}
	}
}

// theirs reports whether somebody has a record of their own by the old number since.
func (t *truth) theirs(number session.Phone) bool {
	return slices.ContainsFunc(t.joined, func(p session.Phone) bool { return p == number })
}

// logged is what the station logged.
type logged struct {
	mu sync.Mutex
	b  bytes.Buffer
}

// Write implements io.Writer.
func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

// nobodyLogged holds that no log line names anybody or their number, and forgets what
// was looked at.
func (t *truth) nobodyLogged(s *simulation) {
	s.log.mu.Lock()
	defer s.log.mu.Unlock()
	text := strings.ReplaceAll(s.log.b.String(), s.dir, "") // the folder's random name may hold any digits
	s.log.b.Reset()
	for _, word := range append([]string{"3363998"}, ownNames...) {
		if at := strings.Index(text, word); at >= 0 {
			s.wrong(ruleForgotten, "the log holds %q", text[max(0, at-200):min(len(text), at+100)])
		}
	}
}

// backup is a backup as it would be made now.
func (s *simulation) backup() []byte {
	path := filepath.Join(s.dir, "backup.db")
	err := s.station.store.BackupFile(context.Background(), path)
	if err == nil {
		defer os.Remove(path)
		var b []byte
		if b, err = os.ReadFile(path); err == nil {
			return b
		}
	}
	s.wrong(ruleRest, "back up: %w", err)
	return nil
}
