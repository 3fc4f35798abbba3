package mem

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"threshline/session"
)

// Filed lists up to n checks whose Position is above after, in order of
// Position: the order in which they were last changed.
func (s *Store) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	var list []session.Check
	for p := after + 1; p <= s.position && len(list) < n; p++ {
		list = s.addFiled(list, p)
	}
	return list, nil
}

// Newest lists up to n checks, those first that were changed last.
func (s *Store) Newest(ctx context.Context, n int) ([]session.Check, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	var list []session.Check
	for p := s.position; p > 0 && len(list) < n; p-- {
		list = s.addFiled(list, p)
	}
	return list, nil
}

// addFiled adds to a list the check that was changed last at a position, if any.
func (s *Store) addFiled(list []session.Check, position uint64) []session.Check {
	if slip, ok := s.filed[position]; ok {
		k, _ := s.state.checks.Get(session.Check{Slip: slip})
		list = append(list, cloneCheck(k))
	}
	return list
}

// People lists up to n people whose ID comes after the given one.
func (s *Store) People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	var list []session.Person
	s.state.people.AscendGreaterOrEqual(session.Person{ID: after}, func(p session.Person) bool {
		if p.ID != after && len(list) < n {
			list = append(list, clonePerson(p))
		}
		return len(list) < n
	})
	return list, nil
}

// Account finds one account; session.ErrNotFound when there is no such account.
func (s *Store) Account(ctx context.Context, id session.AccountID) (session.Account, error) {
	if err := s.lock(ctx); err != nil {
		return session.Account{}, err
	}
	defer s.mu.Unlock()
	a, ok := s.state.accounts.Get(session.Account{ID: id})
	if !ok {
		return session.Account{}, fmt.Errorf("mem: account: %w", session.ErrNotFound)
	}
	return cloneAccount(a), nil
}

// Accounts lists up to n accounts whose ID comes after the given one.
func (s *Store) Accounts(ctx context.Context, after session.AccountID, n int) (list []session.Account, err error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	s.state.accounts.AscendGreaterOrEqual(session.Account{ID: after}, func(a session.Account) bool {
		if a.ID != after && len(list) < n {
			list = append(list, cloneAccount(a))
		}
		return len(list) < n
	})
	return list, nil
}

// Notes lists up to n audit notes, newest first: those before the given
// number, or from the newest when it is 0. The number returned is where to go
// on, 0 at the end.
func (s *Store) Notes(ctx context.Context, before uint64, n int) (notes []session.AuditNote, next uint64, err error) {
	if err := s.lock(ctx); err != nil {
		return nil, 0, err
	}
	defer s.mu.Unlock()
	from := len(s.notes)
	if before != 0 {
		from = min(from, int(before)-1)
	}
	for from > 0 && len(notes) < n {
		from--
		notes = append(notes, s.notes[from])
	}
	if from > 0 {
		next = uint64(from) + 1
	}
	return notes, next, nil
}

// Sent lists messages, newest first, that come after the given one in that
// order; a zero message starts at the newest.
func (s *Store) Sent(ctx context.Context, after session.Outgoing, n int) ([]session.Outgoing, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	older := func(a, b session.Outgoing) int {
		return -cmp.Or(a.Created.Compare(b.Created), cmp.Compare(a.ID, b.ID))
	}
	var list []session.Outgoing
	for _, o := range s.outgoing {
		if after.ID == "" || older(after, o.Outgoing) < 0 {
			list = append(list, o.Outgoing)
		}
	}
	slices.SortFunc(list, older)
	return list[:min(len(list), max(n, 0))], nil
}

// Due lists up to n reminders that are due at now, the longest due first. It
// changes nothing: an exchange fires one by returning it with Cancel set.
func (s *Store) Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error) {
	if err := s.lock(ctx); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	var list []session.Reminder
	s.state.reminders.Ascend(func(r session.Reminder) bool {
		if !r.Due.After(now) {
			list = append(list, r)
		}
		return true
	})
	slices.SortFunc(list, func(a, b session.Reminder) int {
		return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID))
	})
	return list[:min(len(list), max(n, 0))], nil
}
