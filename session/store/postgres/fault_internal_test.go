package postgres

import (
	"context"
	"fmt"
	"strconv"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// recovers waits until the store takes a phone's message and says that it is
// well, without anybody's help.
func recovers(t *testing.T, s *Store, key string) {
	t.Helper()
	eventually(t, "the store takes messages again", func() bool { _, err := talk(s, key); return err == nil })
	eventually(t, "the store says that it is well", func() bool { return s.Healthy() == nil })
}

// away holds that an error has carriers come again: see gateway's table of faults.
func away(t *testing.T, what string, err error) {
	t.Helper()
	for _, known := range []error{session.ErrAway, session.ErrBusy, session.ErrFull} {
		if is(err, known) {
			return
		}
	}
	t.Errorf("%s: %v, want what carriers are told to come again for", what, err)
}

// impatient has faults be seen within the time of a test.
var impatient = Options{CallersClock: true, Statement: 300 * time.Millisecond, Lock: 200 * time.Millisecond, Answer: 600 * time.Millisecond}

func TestACutNetworkIsToldAndComesBack(t *testing.T) {
	t.Parallel()
	_, server := alone(t)
	proxy := cluster.NewProxy(t, server.Address())
	s := at(t, cluster.URL("postgres", proxy.Address()), impatient)
	if _, err := talk(s, "before"); err != nil {
		t.Fatal(err)
	}
	proxy.Cut()
	_, err := talk(s, "during")
	away(t, "while the network is cut", err)
	eventually(t, "it is told", func() bool { return s.Healthy() != nil })
	proxy.Mend()
	recovers(t, s, "during")
	if out, err := talk(s, "before"); err != nil || !out.Duplicate {
		t.Errorf("what was answered before is %+v, %v", out, err)
	}
}

func TestADatabaseThatIsStartedAgainIsFoundAgain(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	connect(t, s, 4)
	for round := range 3 {
		key := fmt.Sprint("round ", round)
		if _, err := talk(s, key); err != nil {
			t.Fatal(err)
		}
		server.Kill()
		_, err := talk(s, key+" while it is down")
		away(t, "while it is down", err)
		if s.Healthy() == nil {
			t.Error("a database that is down is called well")
		}
		server.Start(t)
		recovers(t, s, key+" while it is down")
	}
}

func TestADatabaseWithoutConnectionsLeftIsToldAndComesBack(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off", "max_connections=24", "superuser_reserved_connections=3")
	s := at(t, server.URL("postgres"), Options{CallersClock: true, Connections: 8})
	others := at(t, server.URL("postgres"), Options{CallersClock: true, Connections: 64})
	// The others take all that are left, those that the store lets go of too: it
	// is some time until the server has room again for who let go.
	var held []*pgxpool.Conn
	var err error
	for tries := 0; err == nil && tries < 500; tries++ {
		s.pool.Reset()
		for {
			conn, full := others.pool.Acquire(t.Context())
			if full != nil {
				break
			}
			held = append(held, conn)
		}
		_, err = talk(s, "during "+strconv.Itoa(tries))
	}
	away(t, "without a connection left", err)
	for _, conn := range held {
		conn.Release()
	}
	others.Close()
	recovers(t, s, "during")
}

// Somebody's transaction holds a dialogue and does nothing.
func TestATransactionThatHoldsOnIsWaitedForAWhileOnly(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	if _, err := talk(s, "before"); err != nil {
		t.Fatal(err)
	}
	quick := at(t, server.URL("postgres"), impatient)
	idle, err := s.pool.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := idle.Exec(t.Context(), "update dialogues set version = version where phone = $1", storetest.Phone(1)); err != nil {
		t.Fatal(err)
	}
	_, err = talk(quick, "during")
	away(t, "while another holds the dialogue", err)
	if err := idle.Rollback(t.Context()); err != nil {
		t.Fatal(err)
	}
	recovers(t, quick, "during")
}

// A gateway that begins a transaction and stops is cut off by the database.
func TestAGatewayThatStopsInATransactionIsCutOff(t *testing.T) {
	t.Parallel()
	slow, server := alone(t)
	options := impatient
	options.Idle = 100 * time.Millisecond
	s := at(t, server.URL("postgres"), options)
	if _, err := talk(slow, "before"); err != nil {
		t.Fatal(err)
	}
	stopped, err := s.pool.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := stopped.Exec(t.Context(), "update dialogues set version = version"); err != nil {
		t.Fatal(err)
	}
	if _, err := talk(slow, "during"); err != nil {
		t.Errorf("the others wait in vain: %v", err)
	}
	if err := stopped.Commit(t.Context()); err == nil {
		t.Error("who stopped has committed")
	}
}

// The server ends again and again while tables are made; what was begun is
// begun anew, and done once.
func TestARestartInTheMiddleOfAMigration(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t)
	for round := range 6 {
		options := Options{Schema: fmt.Sprint("m", round), CallersClock: true}
		done := make(chan error, 1)
		go func() {
			s, err := Open(context.Background(), server.URL("postgres"), options)
			if err == nil {
				err = s.Close()
			}
			done <- err
		}()
		eventually(t, "the migration is under way, or done", func() bool {
			step := server.Run(t, "postgres", fmt.Sprintf("select count(*) from pg_stat_activity where application_name = 'threshline' and (state = 'active' or %d %% 2 = 0)", round))
			return step != "0" || len(done) > 0
		})
		server.Restart(t)
		if err := <-done; err != nil {
			away(t, "a migration that was cut off", err)
		}
		s := at(t, server.URL("postgres"), options)
		if _, err := talk(s, "after"); err != nil {
			t.Error(err)
		}
		if err := s.Verify(t.Context()); err != nil {
			t.Error(err)
		}
		s.Close()
	}
}
