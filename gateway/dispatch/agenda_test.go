package dispatch_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// agenda is a store of reminders in memory: it applies what a turn writes.
type agenda struct {
	due     []session.Reminder
	sent    []session.Outgoing
	problem error
}

func (a *agenda) Due(_ context.Context, now time.Time, n int) (due []session.Reminder, err error) {
	for _, r := range a.due {
		if !r.Due.After(now) && len(due) < n {
			due = append(due, r)
		}
	}
	return due, nil
}

func (a *agenda) Exchange(_ context.Context, _ session.Key, turn session.Turn) (session.Outcome, error) {
	if a.problem != nil {
		return session.Outcome{}, a.problem
	}
	w, err := turn(nil)
	if err != nil {
		return session.Outcome{}, err
	}
	a.sent = append(a.sent, w.Outgoing...)
	for _, r := range w.Reminders {
		there := slices.ContainsFunc(a.due, func(old session.Reminder) bool { return old.ID == r.ID && old.Due.Equal(r.Due) })
		if r.Cancel && !r.Due.IsZero() && !there {
			return session.Outcome{}, session.ErrNotFound
		}
		a.due = slices.DeleteFunc(a.due, func(old session.Reminder) bool { return old.ID == r.ID })
		if !r.Cancel {
			a.due = append(a.due, r)
		}
	}
	return session.Outcome{Runs: 1}, nil
}

// faults collects what a watcher is told, by many flights at once.
type faults struct {
	lock   sync.Mutex
	failed []string
}

func (f *faults) Settled(session.Outgoing)                     {}
func (f *faults) Spent(string, session.Part, float64, float64) {}

func (f *faults) Failed(doing string, err error) {
	f.lock.Lock()
	defer f.lock.Unlock()
	f.failed = append(f.failed, doing+": "+err.Error())
}

func TestADueReminderIsTurnedOnceAndLeavesTheAgenda(t *testing.T) {
	store := &agenda{due: []session.Reminder{
		{ID: "recheck", Due: start, Kind: "recheck", Person: "p", Phone: "+33639980001"},
		{ID: "weekly", Due: start, Kind: "digest", Person: "q"},
		{ID: "broken", Due: start, Kind: "nonsense", Person: "r"},
		{ID: "later", Due: start.Add(time.Hour), Kind: "recheck", Person: "p"},
	}}
	watch, woken := &faults{}, 0
	reminders := dispatch.Reminders{
		Agenda: store, Watcher: watch, Entropy: bytes.NewReader(make([]byte, 1<<10)),
		Wake: func() { woken++ },
		Turn: func(_ session.View, due []session.Reminder, now time.Time, _ [2]uint64, _ session.Budget) (session.Writes, error) {
			r := due[0]
			switch r.Kind {
			case "nonsense":
				return session.Writes{}, errors.New("no such reminder")
			case "digest": // sets itself anew
				r.Due = now.Add(7 * 24 * time.Hour)
				return session.Writes{Reminders: []session.Reminder{r}}, nil
			}
			return session.Writes{Outgoing: []session.Outgoing{{ID: session.OutgoingID(r.ID), To: r.Phone}}}, nil
		},
	}
	if n, err := reminders.Round(t.Context(), start); n != 3 || err != nil {
		t.Fatalf("dealt with %d, %v", n, err)
	}
	if n, err := reminders.Round(t.Context(), start); n != 0 || err != nil {
		t.Fatalf("and again with %d, %v", n, err)
	}
	if len(store.sent) != 1 || store.sent[0].ID != "recheck" || woken != 1 {
		t.Errorf("sent %v, woken %d times", store.sent, woken)
	}
	if len(store.due) != 2 { // the weekly one of next week, and the later one
		t.Errorf("the agenda holds %v", store.due)
	}
	if len(watch.failed) != 1 {
		t.Errorf("reported %q", watch.failed)
	}
}

// A clock was years ahead when a coordinator was to be told of lots: without this the
// danger is told years later.
func TestLotsThatAreToldOfTogetherWaitForNoClockThatWasSetBack(t *testing.T) {
	const years = 4 * 365 * 24 * time.Hour
	ahead := session.AlertOf(&session.Person{ID: "chief"}, "S000001", start.Add(years))
	store := &agenda{due: []session.Reminder{
		ahead,
		{ID: "weekly", Due: start.Add(6 * 24 * time.Hour), Kind: session.DigestKind, Person: "chief"},
		{ID: "again", Due: start.Add(years), Kind: session.RecheckKind, Person: "q"},
	}}
	told := map[session.ReminderID]time.Time{}
	r := dispatch.Reminders{Agenda: store, Entropy: bytes.NewReader(make([]byte, 1024)), Watcher: &faults{}, Turn: func(_ session.View, due []session.Reminder, at time.Time, _ [2]uint64, _ session.Budget) (session.Writes, error) {
		for _, one := range due {
			told[one.ID] = at
		}
		return session.Writes{}, nil
	}}
	for _, after := range []time.Duration{years - time.Hour, 0, time.Hour, 25 * time.Hour, 6 * 24 * time.Hour} {
		now := start.Add(after)
		if _, err := r.Round(t.Context(), now); err != nil {
			t.Fatal(err)
		}
		store.due = slices.DeleteFunc(store.due, func(one session.Reminder) bool { return one.ID == "weekly" && after > years/2 })
		if after > years/2 {
			store.due = append(store.due, session.Reminder{ID: "weekly", Due: start.Add(6 * 24 * time.Hour), Kind: session.DigestKind, Person: "chief"})
			told = map[session.ReminderID]time.Time{}
		}
	}
	want := map[session.ReminderID]time.Time{ahead.ID: start.Add(time.Hour), "again": start.Add(25 * time.Hour), "weekly": start.Add(6 * 24 * time.Hour)}
	if !maps.Equal(told, want) {
		t.Errorf("told %v, want %v", told, want)
	}
}

// A gateway starts whose clock is behind another's, which has just put a lot together
// with those of the next hour: without this it is told at once, by itself.
func TestAGatewayThatIsBehindLeavesLotsForTheNextHour(t *testing.T) {
	hour := start.Truncate(time.Hour)
	store := &agenda{due: []session.Reminder{session.AlertOf(&session.Person{ID: "chief"}, "S000001", hour.Add(time.Second))}}
	r := dispatch.Reminders{Agenda: store, Entropy: bytes.NewReader(make([]byte, 64)), Watcher: &faults{}}
	if _, err := r.Round(t.Context(), hour.Add(time.Second-session.ClocksApart)); err != nil {
		t.Fatal(err)
	}
	if len(store.due) != 1 || !store.due[0].Due.Equal(hour.Add(time.Hour)) {
		t.Errorf("set are %v, want it at %v", store.due, hour.Add(time.Hour))
	}
}

func TestAReminderStaysWhenTheStoreCannotTakeIt(t *testing.T) {
	store := &agenda{problem: session.ErrFull, due: []session.Reminder{{ID: "r", Due: start}}}
	reminders := dispatch.Reminders{Agenda: store, Watcher: &faults{}, Entropy: bytes.NewReader(make([]byte, 64))}
	if n, err := reminders.Round(t.Context(), start); n != 0 || !errors.Is(err, session.ErrFull) {
		t.Errorf("dealt with %d, %v", n, err)
	}
	if len(store.due) != 1 {
		t.Error("the reminder is lost")
	}
}

func TestAReminderThatCannotBeStoredHoldsUpNoOther(t *testing.T) {
	store := &agenda{due: []session.Reminder{{ID: "bad", Due: start}, {ID: "good", Due: start}}}
	watch := &faults{}
	reminders := dispatch.Reminders{
		Agenda: picky{store}, Watcher: watch, Entropy: bytes.NewReader(make([]byte, 1<<10)),
		Turn: func(session.View, []session.Reminder, time.Time, [2]uint64, session.Budget) (session.Writes, error) {
			return session.Writes{}, nil
		},
	}
	if n, err := reminders.Round(t.Context(), start); n != 1 || !errors.Is(err, errUnfit) {
		t.Errorf("dealt with %d, %v", n, err)
	}
	if len(store.due) != 1 || store.due[0].ID != "bad" || len(watch.failed) != 1 {
		t.Errorf("left %v, reported %q", store.due, watch.failed)
	}
}

var errUnfit = errors.New("cannot be stored")

// What is due of one phone is one exchange, also when it is more than is listed at
// once: alerts are told together or not at all.
func TestWhatIsDueOfOnePhoneIsOneExchange(t *testing.T) {
	store := &agenda{}
	for i := range 250 {
		id := session.ReminderID(fmt.Sprint("alert ", i))
		store.due = append(store.due, session.Reminder{ID: id, Due: start, Kind: session.AlertKind, Person: "p", Phone: "+33639980001"})
	}
	store.due = append(store.due, session.Reminder{ID: "other", Due: start, Kind: session.RecheckKind, Person: "q", Phone: "+33639980002"})
	var turns []int
	reminders := dispatch.Reminders{
		Agenda: store, Watcher: &faults{}, Entropy: bytes.NewReader(make([]byte, 1<<10)),
		Turn: func(_ session.View, due []session.Reminder, _ time.Time, _ [2]uint64, _ session.Budget) (session.Writes, error) {
			turns = append(turns, len(due))
			return session.Writes{}, nil
		},
	}
	if n, err := reminders.Round(t.Context(), start); n != 251 || err != nil {
		t.Errorf("dealt with %d, %v", n, err)
	}
	if !slices.Equal(turns, []int{250, 1}) || len(store.due) != 0 {
		t.Errorf("turns of %d reminders, %d left", turns, len(store.due))
	}
}

// picky is an agenda that does not store one of its reminders.
type picky struct{ *agenda }

func (p picky) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	w, err := turn(nil)
	if err == nil && w.Reminders[0].ID == "bad" {
		return session.Outcome{}, errUnfit
	}
	return p.agenda.Exchange(ctx, key, turn)
}

// dust counts down what is left to sweep.
type dust struct{ left, steps int }

func (d *dust) Sweep(_ context.Context, _ time.Time, n int) (int, error) {
	d.steps++
	took := min(n, d.left)
	d.left -= took
	return took, nil
}

func TestSweepingGoesInSmallStepsToTheEnd(t *testing.T) {
	d := &dust{left: 250}
	if n, err := dispatch.Sweep(t.Context(), d, start); n != 250 || err != nil || d.left != 0 || d.steps != 3 {
		t.Errorf("removed %d in %d steps, %d left, %v", n, d.steps, d.left, err)
	}
}

func TestEveryWorksAtEachTickAndAgainWhileThereIsMore(t *testing.T) {
	tick := make(chan time.Time, 3)
	for range 3 {
		tick <- start
	}
	close(tick)
	results := []struct {
		more bool
		err  error
	}{{true, nil}, {false, nil}, {true, errors.New("fault")}, {false, nil}}
	calls := 0
	dispatch.Every(t.Context(), tick, func(context.Context) (bool, error) {
		calls++
		return results[calls-1].more, results[calls-1].err
	})
	if calls != 4 { // two at the first tick, one fault, one more
		t.Errorf("worked %d times", calls)
	}
}
