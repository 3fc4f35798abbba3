package dispatch

import (
	"context"
	"errors"
	"time"

	"threshline/session"
)

// Exchanger runs turns: a store.
type Exchanger interface {
	Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error)
}

// Join puts an alert together with others, in one message to the coordinator at
// the next full hour. See Config.Join.
func Join(ctx context.Context, store Exchanger, alert session.Outgoing, now time.Time) error {
	_, err := store.Exchange(ctx, session.Key{}, func(v session.View) (session.Writes, error) {
		w := session.Writes{Reply: session.Reply{Silent: true}}
		p, err := v.PersonByPhone(alert.To)
		if errors.Is(err, session.ErrNotFound) { // who was forgotten is told nothing
			return w, nil
		}
		w.Reminders = []session.Reminder{session.AlertOf(&p, alert.Slip, now)}
		return w, err
	})
	return err
}
