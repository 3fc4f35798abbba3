package postgres

import (
	"fmt"
	"testing"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/record"
	"threshline/session/store/storetest"
)

// walSegment is the size of a file of the database's log: with less it could
// write nothing at all.
const walSegment = "16777216"

// The table of checks can grow no more: carriers are told to come again, and
// when there is room everything goes on.
func TestATableWithoutRoomIsToldAndGoesOn(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	const there = 45_000
	if err := Import(t.Context(), server.URL("postgres"), func(yield func(record.Thing) error) error {
		err := yield(record.Thing{Counted: &record.Counted{Secret: make([]byte, secretSize), Checks: there}})
		for i := 0; i < there && err == nil; i++ {
			k := storetest.Check(i, "g", "r")
			k.Slip, k.Version, k.Position = session.Slip(fmt.Sprint("there ", i)), 1, uint64(i+1)
			err = yield(record.Thing{Check: &k})
		}
		return err
	}, Options{}, false); err != nil {
		t.Fatal(err)
	}
	if size := server.Run(t, "postgres", "select pg_relation_size('threshline.checks') > 16777216"); size != "t" {
		t.Fatal("the table is not as large as it has to be")
	}
	s := at(t, server.URL("postgres"), Options{CallersClock: true})
	server.Bound(t, walSegment)
	s.pool.Reset() // whoever serves from now on has the bound
	var err error
	filed := 0
	for ; err == nil && filed < 1000; filed++ {
		err = file(s, filed)
	}
	if err == nil {
		t.Fatal("a thousand checks found room where there is none")
	}
	away(t, "without room", err)
	server.Bound(t, "unlimited")
	s.pool.Reset()
	recovers(t, s, "after")
	if err := file(s, filed); err != nil {
		t.Errorf("with room again: %v", err)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}
