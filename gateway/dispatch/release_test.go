package dispatch_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/store/mem"
)

// Who was not heard of for as long as the programme keeps people is let go,
// with their dialogue, on a store of more people than one round takes; their
// checks and everybody else stay.
func TestOldPersonalDataIsLetGo(t *testing.T) {
	ctx, now := context.Background(), time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	old, agreed := now.AddDate(-3, 0, 0), session.Consent{Version: 1, Given: true, At: now.AddDate(-3, 0, 0)}
	store := mem.New(mem.Options{})
	defer store.Close()
	w := session.Writes{People: []session.Person{
		{ID: "asha", Phone: "+33639981001", Role: session.Grower, Name: "Asha", Village: "Kisima", Joined: old, Consent: agreed},
		{ID: "busy", Phone: "+33639981002", Role: session.Grower, Name: "Busy", Joined: old, Consent: agreed},
		{ID: "checked", Role: session.Grower, Name: "Checked", Agent: "agent", Short: 1, Joined: old, Consent: agreed},
		{ID: "agent", Phone: "+33639981003", Role: session.Agent, Name: "Agent", Joined: old, Consent: agreed},
		{ID: "young", Phone: "+33639981004", Role: session.Grower, Name: "Young", Joined: now.AddDate(0, -1, 0)},
		{ID: "wrong", Phone: "+33639981005", Role: session.Grower, Joined: old, Stopped: old},
	}, Checks: []session.Check{
		{Slip: session.NewSlip(1), State: session.Filed, Lot: session.Lot{Grower: "checked"}, Reporter: "agent", At: now.AddDate(0, -2, 0)},
		{Slip: session.NewSlip(2), State: session.Filed, Lot: session.Lot{Grower: "asha"}, Reporter: "asha", At: old},
	}}
	for i := range 250 {
		w.People = append(w.People, session.Person{ID: session.PersonID(fmt.Sprintf("more %03d", i)), Role: session.Grower, Name: "More", Joined: old})
	}
	stock(t, store, session.Key{}, w)
	for phone, last := range map[session.Phone]time.Time{"+33639981001": old, "+33639981002": now.AddDate(0, 0, -3)} {
		stock(t, store, session.Key{Phone: phone}, session.Writes{Dialogue: &session.Dialogue{Phone: phone, Screen: "menu", Last: last}})
	}
	keeping := &programme.Programme{KeepPeopleFor: 2 * 365 * 24 * time.Hour}
	for round, want := range []int{251, 0} {
		if n, err := dispatch.Release(ctx, store, keeping, now); n != want || err != nil {
			t.Fatalf("round %d let go %d, %v; want %d", round, n, err, want)
		}
	}
	people, err := store.People(ctx, "", 1000)
	if err != nil {
		t.Fatal(err)
	}
	stays := map[session.PersonID]bool{"busy": true, "checked": true, "agent": true, "young": true, "wrong": true}
	for _, p := range people {
		if p.Forgotten == stays[p.ID] {
			t.Errorf("%s: forgotten %v", p.ID, p.Forgotten)
		}
		if p.Forgotten && (p.Name != "" || p.Phone != "" || p.Village != "") {
			t.Errorf("%s is forgotten and known by %+v", p.ID, p)
		}
	}
	if checks, err := store.Filed(ctx, 0, 10); err != nil || len(checks) != 2 {
		t.Errorf("%d checks are left, %v; want 2", len(checks), err)
	}
	err = store.Read(ctx, func(v session.View) error {
		d, err := v.Dialogue("+33639981001")
		if d.Version != 0 {
			t.Errorf("the dialogue of somebody let go is left: %+v", d)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Without a setting nobody is let go.
func TestPeopleAreKeptWithoutASetting(t *testing.T) {
	store := mem.New(mem.Options{})
	defer store.Close()
	stock(t, store, session.Key{}, session.Writes{People: []session.Person{{ID: "asha", Role: session.Grower, Name: "Asha"}}})
	keeping := &programme.Programme{}
	if n, err := dispatch.Release(context.Background(), store, keeping, time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)); n != 0 || err != nil {
		t.Errorf("let go %d, %v; want none", n, err)
	}
}

func stock(t *testing.T, store *mem.Store, key session.Key, w session.Writes) {
	t.Helper()
	if _, err := store.Exchange(context.Background(), key, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
		t.Fatal(err)
	}
}
