package dispatch

import (
	"context"
	"errors"
	"slices"
	"time"

	"threshline/session"
)

// setBack notices that a clock was set back. What was written under the clock that was
// ahead would wait until then.
type setBack struct{ last []time.Time } // by each of the clocks that are looked at

// look puts right what has to be at the first look, since nobody knows which clock was
// there before, and whenever one of the clocks is earlier than at the last one.
func (s *setBack) look(putRight func() error, now ...time.Time) error {
	back := s.last == nil
	for i, last := range s.last {
		back = back || now[i].Before(last.Add(-time.Minute))
	}
	if back {
		if err := putRight(); err != nil {
			return err
		}
		s.last = slices.Clone(now)
	}
	for i, at := range now {
		if at.After(s.last[i]) {
			s.last[i] = at
		}
	}
	return nil
}

// everDue is longer than the times of a clock that is wrong may be off; mostSet is more
// reminders than a programme has.
const (
	everDue = 100 * 365 * 24 * time.Hour
	mostSet = 1 << 20
)

// putRight looks through all reminders for those of a clock that was ahead. One that
// cannot be put right keeps no other from it.
func (r *Reminders) putRight(ctx context.Context, now time.Time) (problems error) {
	all, err := r.Agenda.Due(ctx, now.Add(everDue), mostSet)
	if err != nil {
		return err
	}
	for _, set := range all {
		right := set
		if !right.SetBack(now) {
			continue
		}
		set.Cancel = true // unless it is gone meanwhile
		_, err := r.Agenda.Exchange(ctx, session.Key{}, func(session.View) (session.Writes, error) {
			return session.Writes{Reminders: []session.Reminder{set, right}, Reply: session.Reply{Silent: true}}, nil
		})
		if !errors.Is(err, session.ErrNotFound) {
			problems = errors.Join(problems, err)
		}
	}
	return problems
}
