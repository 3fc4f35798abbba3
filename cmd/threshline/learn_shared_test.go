package main

import (
	"maps"
	"os"
	"testing"

	"threshline/cmd/threshline/demo"
	"threshline/grading"
	"threshline/session"
	"threshline/session/store/postgres/cluster"
)

// Of two gateways over one database one learns what lots hold; the other goes by
// the same, though the store holds more by then. One that was paused while it
// learnt changes nothing that another has learnt since.
func TestGatewaysLearnOnceForAll(t *testing.T) {
	server := cluster.Start(t, "fsync=off")
	t.Chdir(t.TempDir())
	inDatabase := fileStore.ReplaceAllLiteralString(string(demo.Config), "[store]\n"+databaseLines(t, server.URL("postgres"))+"\n\n")
	if err := os.WriteFile("postgres.toml", []byte(inDatabase), 0o600); err != nil {
		t.Fatal(err)
	}
	a, b := stationOf(t, "postgres.toml"), stationOf(t, "postgres.toml")
	defer b.close()
	defer a.close()
	fences := func() string {
		return server.Run(t, "postgres", "select fence from threshline.leases where name like 'learning by%'")
	}
	if fences() != "1" || a.programme.Advice.Usual != nil || b.programme.Advice.Usual != nil {
		t.Fatalf("an empty store was learnt from %s times", fences())
	}
	if _, err := demo.File(t.Context(), a.store, a.programme, seasonsEnd); err != nil {
		t.Fatal(err)
	}
	if next, err := a.relearnt(t.Context()); next != nil || err != nil {
		t.Errorf("learnt before it was due: %v", err)
	}
	due := func() {
		server.Run(t, "postgres", "update threshline.leases set done = threshline.never(), until = threshline.never() where name like 'learning by%'")
	}
	due()
	a = relearned(t, a)
	withdraw(t, a)
	b = relearned(t, b)
	if usual := b.programme.Advice.Usual; fences() != "2" || len(usual) == 0 || !maps.Equal(usual, a.programme.Advice.Usual) {
		t.Errorf("learnt %s times: %v and %v", fences(), a.programme.Advice.Usual, usual)
	}
	for _, s := range []*station{a, b} {
		if next, err := s.relearnt(t.Context()); next != nil || err != nil {
			t.Errorf("what was learnt changed: %v", err)
		}
	}

	due()
	d := a.store.(database)
	paused, err := d.Begin(t.Context(), a.learning(), learnEvery, learnWithin)
	if err != nil || !paused.Held() {
		t.Fatal("learning did not begin", err)
	}
	due() // the lease is over
	b = relearned(t, b)
	if maps.Equal(b.programme.Advice.Usual, a.programme.Advice.Usual) {
		t.Error("other checks taught the same")
	}
	if err := a.learnUnder(t.Context(), d, paused); err != nil {
		t.Error(err)
	}
	if err := d.End(t.Context(), paused, true, []byte("{}")); err == nil {
		t.Error("who was paused has finished")
	}
	a = relearned(t, a)
	if !maps.Equal(a.programme.Advice.Usual, b.programme.Advice.Usual) {
		t.Errorf("who was paused goes by %v, the other by %v", a.programme.Advice.Usual, b.programme.Advice.Usual)
	}
}

// relearned is the station after it has seen to what lots hold, and found news.
func relearned(t *testing.T, s *station) *station {
	t.Helper()
	next, err := s.relearnt(t.Context())
	if err != nil || next == nil {
		t.Fatalf("nothing was learnt: %v", err)
	}
	return next
}

// withdraw takes back the driest of the newest checks, so that the rest hold
// more moisture.
func withdraw(t *testing.T, s *station) {
	t.Helper()
	list, err := s.store.Newest(t.Context(), 100)
	if err != nil {
		t.Fatal(err)
	}
	var w session.Writes
	for _, k := range list {
		if m, _ := k.Readings.Get(grading.Moisture); k.State == session.Filed && m.Float() < 13 && len(w.Checks) < 20 {
			k.State = session.Withdrawn
			w.Checks = append(w.Checks, k)
		}
	}
	if len(w.Checks) == 0 {
		t.Fatal("no check to withdraw")
	}
	if _, err := s.store.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return w, nil }); err != nil {
		t.Fatal(err)
	}
}
