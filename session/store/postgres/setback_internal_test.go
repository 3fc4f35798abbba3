package postgres

import (
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// A gateway begins to put right what a clock ahead left, and stands still on the way.
// What another claims meanwhile is its own for as long as it asked.
func TestWhoStandsStillCutsNobodysClaimShort(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s, other := at(t, server.URL("postgres"), Options{}), at(t, server.URL("postgres"), Options{})
	now := time.Now()
	o := storetest.Outgoing(1)
	o.Created, o.Due, o.Changed, o.Expires = now, now, now, now.Add(time.Hour)
	if _, err := write(other, "", session.Writes{Outgoing: []session.Outgoing{o}}); err != nil {
		t.Fatal(err)
	}
	until := func() (leased int64) {
		t.Helper()
		if err := other.pool.QueryRow(t.Context(), "select leased from outgoing").Scan(&leased); err != nil {
			t.Fatal(err)
		}
		return leased
	}
	held, err := other.pool.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := held.Exec(t.Context(), "lock table queue"); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- s.SetBack(t.Context(), now, time.Minute) }()
	eventually(t, "it stands still", func() bool {
		return server.Run(t, "postgres", "select count(*) from pg_locks where not granted") == "1"
	})
	if tag, err := held.Exec(t.Context(), "select claim(never(), 9, $1)", int64(time.Minute)); err != nil || tag.RowsAffected() != 1 {
		t.Fatal(tag, err)
	}
	if err := held.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	claimed := until()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if left := until(); left != claimed {
		t.Errorf("claimed until %s, and cut short to %s", moment(claimed), moment(left))
	}
}

// The database's clock was years ahead while work for all was done, and while who had
// begun some was killed. When it is right the work is done again in its time.
func TestWorkForAllWaitsForNoClockThatWasAhead(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s := at(t, server.URL("postgres"), Options{})
	clock := func(ahead string) {
		server.Run(t, "postgres", "create or replace function threshline.clock() returns bigint language sql volatile as "+
			"'select (extract(epoch from clock_timestamp() + interval ''"+ahead+"'') * 1000000000)::bigint'")
	}
	clock("4 years")
	for _, work := range []string{"done", "left"} {
		l, err := s.Begin(t.Context(), work, time.Hour, time.Hour)
		if err != nil || !l.Held() {
			t.Fatal(l, err)
		}
		if work == "done" {
			err = s.End(t.Context(), l, true, nil)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	clock("0")
	for _, work := range []string{"done", "left"} {
		if l, err := s.Begin(t.Context(), work, time.Hour, time.Hour); err != nil || !l.Held() {
			t.Errorf("%s is not begun again: %v", work, err)
		}
		if l, err := s.Begin(t.Context(), work, time.Hour, time.Hour); err != nil || l.Held() {
			t.Errorf("%s is begun by two: %v", work, err)
		}
	}
}
