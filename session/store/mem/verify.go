package mem

import (
	"context"
	"fmt"

	"threshline/session"
)

// Verify checks that what finds a record and the record agree.
func (s *Store) Verify(ctx context.Context) error {
	if err := s.lock(ctx); err != nil {
		return err
	}
	defer s.mu.Unlock()
	var err error
	s.state.phones.Ascend(func(e phoneEntry) bool {
		if p, ok := s.state.people.Get(session.Person{ID: e.id}); !ok || p.Phone != e.phone {
			err = fmt.Errorf("mem: phone %v leads to person %q, who has another", e.phone, string(e.id))
		}
		return err == nil
	})
	for position, slip := range s.filed {
		if k, ok := s.state.checks.Get(session.Check{Slip: slip}); !ok || k.Position != position {
			err = fmt.Errorf("mem: position %d leads to check %q, which is elsewhere", position, string(slip))
		}
	}
	if n := s.state.checks.Len(); n != len(s.filed) || n != s.state.ofGrower.Len() || n != s.state.byReporter.Len() {
		err = fmt.Errorf("mem: %d checks, but %d positions, %d by grower and %d by reporter",
			n, len(s.filed), s.state.ofGrower.Len(), s.state.byReporter.Len())
	}
	return err
}
