package dispatch_test

import (
	"crypto/rand"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// Two gateways over one store work off the same agenda: each reminder is
// turned once.
func TestTwoGatewaysRemindOnce(t *testing.T) {
	store := openStore(t, filepath.Join(t.TempDir(), "agenda.db"))
	defer store.Close()
	const people = 60
	_, err := store.Exchange(t.Context(), session.Key{}, func(session.View) (w session.Writes, err error) {
		for i := range people {
			id := fmt.Sprintf("p%02d", i)
			w.Reminders = append(w.Reminders, session.Reminder{
				ID: session.ReminderID("recheck:" + id), Due: start, Kind: "recheck", Person: session.PersonID(id),
				Phone: session.Phone(fmt.Sprintf("+3363998%04d", i)),
			})
		}
		return w, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	turn := func(_ session.View, due []session.Reminder, now time.Time, bits [2]uint64, _ session.Budget) (session.Writes, error) {
		r := due[0]
		return session.Writes{Outgoing: []session.Outgoing{{
			ID: session.OutgoingID(fmt.Sprintf("%x%x", bits[0], bits[1])), To: r.Phone, Text: string(r.Person),
			Purpose: session.Reminding, Created: now, Due: now, State: session.Queued,
		}}}, nil
	}
	watch := &faults{}
	var gateways sync.WaitGroup
	for range 2 {
		gateways.Go(func() {
			reminders := dispatch.Reminders{Agenda: store, Turn: turn, Entropy: rand.Reader, Watcher: watch}
			if _, err := reminders.Round(t.Context(), start); err != nil {
				t.Error(err)
			}
		})
	}
	gateways.Wait()
	sent, err := store.Sent(t.Context(), session.Outgoing{}, 10*people)
	if err != nil {
		t.Fatal(err)
	}
	if len(sent) != people || len(watch.failed) != 0 {
		t.Errorf("%d reminders for %d people; reported %q", len(sent), people, watch.failed)
	}
	if left, err := store.Due(t.Context(), start, 10); err != nil || len(left) != 0 {
		t.Errorf("still on the agenda: %v, %v", left, err)
	}
}
