package mem

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"threshline/session"
)

// apply checks what the turn read against what is there now, then writes all
// of it.
func (s *Store) apply(ctx context.Context, key session.Key, read uint64, w session.Writes) (session.Outcome, error) {
	if err := s.lock(ctx); err != nil {
		return session.Outcome{}, err
	}
	defer s.mu.Unlock()
	if d, ok := s.state.duplicates.Get(duplicate{key: key.Duplicate}); ok && key.Duplicate != "" {
		return session.Outcome{Reply: d.reply, Duplicate: true}, nil
	}
	if err := s.checkReminders(w.Reminders); err != nil {
		return session.Outcome{}, err
	}
	err := errors.Join(s.checkDialogue(key, read, &w), s.checkPeople(w.People), s.checkChecks(w.Checks), s.checkRest(&w))
	if err != nil {
		return session.Outcome{}, err
	}
	s.forget(key, &w)
	if key.Duplicate != "" {
		s.state.duplicates.ReplaceOrInsert(duplicate{key.Duplicate, key.Phone, key.KeepUntil, w.Reply})
	}
	s.write(&w)
	return session.Outcome{Reply: w.Reply}, nil
}

func (s *Store) checkDialogue(key session.Key, read uint64, w *session.Writes) error {
	if key.Phone != "" {
		if now, _ := s.state.dialogues.Get(session.Dialogue{Phone: key.Phone}); now.Version != read {
			return conflict("dialogue")
		}
	}
	if d := w.Dialogue; d != nil && d.Phone != key.Phone {
		if now, _ := s.state.dialogues.Get(session.Dialogue{Phone: d.Phone}); now.Version != d.Version {
			return conflict("dialogue")
		}
	}
	return nil
}

func (s *Store) checkPeople(people []session.Person) error {
	becomes := make(map[session.PersonID]session.Phone)
	for _, p := range people {
		if now, _ := s.state.people.Get(session.Person{ID: p.ID}); now.Version != p.Version {
			return conflict("person")
		}
		becomes[p.ID] = p.Phone
	}
	for _, p := range people {
		holder, held := s.state.phones.Get(phoneEntry{phone: p.Phone})
		if p.Phone == "" || !held || holder.id == p.ID {
			continue
		}
		if next, written := becomes[holder.id]; !written || next == p.Phone {
			return taken("phone")
		}
	}
	return nil
}

func (s *Store) checkChecks(checks []session.Check) error {
	for _, k := range checks {
		now, exists := s.state.checks.Get(session.Check{Slip: k.Slip})
		if exists && k.Version == 0 {
			return taken("slip")
		}
		if now.Version != k.Version {
			return conflict("check")
		}
	}
	return nil
}

func (s *Store) checkRest(w *session.Writes) error {
	for _, i := range w.Invites {
		if now, _ := s.state.invites.Get(session.Invite{Code: i.Code}); now.Version != i.Version {
			return conflict("invite")
		}
	}
	for _, a := range w.Accounts {
		if now, _ := s.state.accounts.Get(session.Account{ID: a.ID}); now.Version != a.Version {
			return conflict("account")
		}
	}
	for _, o := range w.Outgoing {
		if _, exists := s.outgoing[o.ID]; exists {
			return taken("outgoing message")
		}
	}
	return nil
}

// checkReminders refuses to fire a reminder that is gone or was moved.
func (s *Store) checkReminders(reminders []session.Reminder) error {
	for _, r := range reminders {
		if now, _ := s.state.reminders.Get(r); r.Cancel && !r.Due.IsZero() && !now.Due.Equal(r.Due) {
			return fmt.Errorf("mem: reminder %q: %w", string(r.ID), session.ErrNotFound)
		}
	}
	return nil
}

func conflict(what string) error { return fmt.Errorf("mem: %s: %w", what, session.ErrConflict) }

// A taken key is a conflict too: when the turn runs again, it may choose
// another key.
func taken(what string) error {
	return fmt.Errorf("mem: %s: %w: %w", what, session.ErrExists, session.ErrConflict)
}

func (s *Store) write(w *session.Writes) {
	if d := w.Dialogue; d != nil && d.Empty() {
		s.state.dialogues.Delete(*d)
	} else if d != nil {
		// Versions are never used twice: see the engine on disk.
		s.dialogueVersion++
		d := d.Clone()
		d.Version = s.dialogueVersion
		s.state.dialogues.ReplaceOrInsert(d)
	}
	s.writePeople(w.People)
	for _, k := range w.Checks {
		s.writeCheck(cloneCheck(k))
	}
	for _, i := range w.Invites {
		i.Version++
		s.state.invites.ReplaceOrInsert(i)
	}
	for _, o := range w.Outgoing {
		o.State = cmp.Or(o.State, session.Queued)
		o.Lease = 0
		for _, t := range w.Forget {
			if t.Phone != "" && o.To == t.Phone {
				o.Forget()
			}
		}
		s.keepSent(sent{Outgoing: o})
	}
	for _, r := range w.Reminders {
		if s.state.reminders.Delete(r); !r.Cancel {
			s.state.reminders.ReplaceOrInsert(r)
		}
	}
	s.notes = append(s.notes, w.Notes...)
	for _, a := range w.Accounts {
		a = cloneAccount(a)
		a.Version++
		if a.Remove {
			s.state.accounts.Delete(a)
		} else {
			s.state.accounts.ReplaceOrInsert(a)
		}
	}
}

func (s *Store) writePeople(people []session.Person) {
	for _, p := range people {
		if old, ok := s.state.people.Get(p); ok {
			if old.Phone != "" && old.Phone != p.Phone {
				s.state.phones.Delete(phoneEntry{phone: old.Phone})
			}
			s.state.growers.Delete(growerEntry{old.Agent, old.Short, old.ID})
			if district, ok := old.NamedIn(); ok {
				s.state.named.Delete(namedEntry{district, old.ID})
			}
		}
		if p.Agent != "" {
			s.state.growers.ReplaceOrInsert(growerEntry{p.Agent, p.Short, p.ID})
		}
		if district, ok := p.NamedIn(); ok {
			s.state.named.ReplaceOrInsert(namedEntry{district, p.ID})
		}
		s.state.heads.Delete(p.ID)
		if p.Role == session.Coordinator {
			s.state.heads.ReplaceOrInsert(p.ID)
		}
		p = clonePerson(p)
		p.Version++
		s.state.people.ReplaceOrInsert(p)
	}
	for _, p := range people {
		if p.Phone != "" {
			s.state.phones.ReplaceOrInsert(phoneEntry{p.Phone, p.ID})
		}
	}
}

func (s *Store) writeCheck(k session.Check) {
	if old, ok := s.state.checks.Get(k); ok {
		delete(s.filed, old.Position)
		s.state.ofGrower.Delete(filedEntry{old.Lot.Grower, old.At, old.Slip})
		s.state.byReporter.Delete(filedEntry{old.Reporter, old.At, old.Slip})
	}
	s.position++
	k.Position = s.position
	k.Version++
	s.state.checks.ReplaceOrInsert(k)
	s.filed[k.Position] = k.Slip
	s.state.ofGrower.ReplaceOrInsert(filedEntry{k.Lot.Grower, k.At, k.Slip})
	s.state.byReporter.ReplaceOrInsert(filedEntry{k.Reporter, k.At, k.Slip})
}
