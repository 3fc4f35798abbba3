package postgres

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"sync"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// alone opens a store on a server of its own.
func alone(t testing.TB, settings ...string) (*Store, *cluster.Server) {
	t.Helper()
	server := cluster.Start(t, append(settings, "fsync=off")...)
	return at(t, server.URL("postgres"), Options{CallersClock: true}), server
}

func at(t testing.TB, url string, o Options) *Store {
	t.Helper()
	s, err := Open(t.Context(), url, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// eventually waits for something that has no event to wait for.
func eventually(t testing.TB, what string, come func() bool) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); !come(); {
		if time.Now().After(deadline) {
			t.Fatalf("%s: not within a minute", what)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

func file(s *Store, i int) error {
	_, err := s.Exchange(context.Background(), session.Key{}, func(session.View) (session.Writes, error) {
		return session.Writes{Checks: []session.Check{storetest.Check(i, "g", "r")}}, nil
	})
	return err
}

// A gateway is slow to commit a check while another files one: whoever reads on
// by position meets both.
func TestFiledPassesOverNothingThatCommitsLate(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	w := session.Writes{Checks: []session.Check{storetest.Check(1, "g", "r")}}
	x, err := prepare(session.Key{}, nil, 0, &w)
	if err != nil {
		t.Fatal(err)
	}
	late, err := s.pool.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := late.Exec(t.Context(), writeSQL, arrays([]*job{{x: x}})...); err != nil {
		t.Fatal(err)
	}
	filed := make(chan error, 1)
	go func() { filed <- file(s, 2) }()

	var seen []session.Slip
	var after uint64
	look := func() {
		list, err := s.Filed(t.Context(), after, 10)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range list {
			seen, after = append(seen, k.Slip), k.Position
		}
	}
	eventually(t, "the second check is filed, or waits", func() bool {
		look()
		waits := server.Run(t, "postgres", "select count(*) from pg_locks where locktype = 'advisory' and not granted")
		return len(seen) > 0 || waits == "1"
	})
	if err := late.Commit(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := <-filed; err != nil {
		t.Fatal(err)
	}
	look()
	if len(seen) != 2 || seen[0] != storetest.Slip(1) || seen[1] != storetest.Slip(2) {
		t.Errorf("read %v, want the late one and the other", seen)
	}
}

func TestNewerTablesAreRefused(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	server.Run(t, "postgres", "update threshline.about set version = version + 1")
	if _, err := Open(t.Context(), server.URL("postgres"), Options{}); !is(err, ErrNewer) {
		t.Errorf("opened tables of a later version: %v", err)
	}
	if err := file(s, 1); err != nil {
		t.Errorf("the program that runs goes on: %v", err)
	}
}

// Many programs are started at once over an empty database.
func TestTablesAreMadeOnce(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	opened := make(chan error)
	const programs = 8
	for range programs {
		go func() {
			s, err := Open(context.Background(), server.URL("postgres"), Options{Connections: 2})
			if err == nil {
				err = s.Close()
			}
			opened <- err
		}()
	}
	for range programs {
		if err := <-opened; err != nil {
			t.Error(err)
		}
	}
}

// talk has a phone talk once, under a duplicate key or none.
func talk(s *Store, key string) (session.Outcome, error) {
	phone := storetest.Phone(1)
	return s.Exchange(context.Background(), session.Key{Phone: phone, Duplicate: key, KeepUntil: storetest.Begin}, func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(phone)
		d.Page++
		d.Screen = "main"
		return session.Writes{Dialogue: &d, Reply: session.Reply{Text: "page " + string(rune('0'+d.Page))}}, err
	})
}

// connect has several connections stand ready.
func connect(t testing.TB, s *Store, n int) {
	t.Helper()
	var all, there sync.WaitGroup
	there.Add(n)
	for range n {
		all.Go(func() {
			if err := s.Read(context.Background(), func(session.View) error {
				there.Done()
				there.Wait()
				return nil
			}); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}

// The answer to a commit is lost: the duplicate key tells that it came through,
// and nothing is done twice.
func TestALostAnswerToACommitIsLookedUp(t *testing.T) {
	t.Parallel()
	steady, server := alone(t)
	proxy := cluster.NewProxy(t, server.Address())
	s := at(t, cluster.URL("postgres", proxy.Address()), Options{Answer: 2 * time.Second, CallersClock: true})
	page := func() (page int) {
		if err := steady.Read(t.Context(), func(v session.View) error {
			d, err := v.Dialogue(storetest.Phone(1))
			page = d.Page
			return err
		}); err != nil {
			t.Fatal(err)
		}
		return page
	}
	for _, c := range []struct {
		key   string
		known bool // the phone was served lately
	}{{"second", false}, {"third", true}, {"", false}, {"", true}} {
		connect(t, s, 4)
		if _, err := talk(s, fmt.Sprint("before ", c)); err != nil {
			t.Fatal(err)
		}
		if !c.known {
			s.recent.clear()
		}
		key, before := c.key, page()
		got := make(chan error, 1)
		var outcome session.Outcome
		turned := false
		go func() {
			var err error
			phone := storetest.Phone(1)
			outcome, err = s.Exchange(context.Background(), session.Key{Phone: phone, Duplicate: key, KeepUntil: storetest.Begin}, func(v session.View) (session.Writes, error) {
				d, err := v.Dialogue(phone)
				if !turned {
					turned = true
					proxy.LoseAnswers() // what was read has come, what is written will be stored
				}
				d.Page++
				return session.Writes{Dialogue: &d, Reply: session.Reply{Text: "turned"}}, err
			})
			got <- err
		}()
		eventually(t, "the write is stored", func() bool { return page() == before+1 })
		proxy.Mend()
		err := <-got
		switch {
		case key != "" && (err != nil || outcome.Reply.Text != "turned" || !outcome.Duplicate):
			t.Errorf("with a key: %+v, %v", outcome, err)
		case key == "" && !is(err, session.ErrAway):
			t.Errorf("without a key nobody can know: %+v, %v", outcome, err)
		}
		if p := page(); p != before+1 {
			t.Errorf("%+v: page %d, want %d", c, p, before+1)
		}
	}
}

// A store counts how many steps it has taken: two of one number would be taken in
// the order of their names.
func TestStepsAreNumberedOneByOne(t *testing.T) {
	steps, err := fs.Glob(migrations, "migration/*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for i, step := range steps {
		if want := fmt.Sprintf("migration/%04d_", i+1); !strings.HasPrefix(step, want) {
			t.Errorf("step %d is %s", i+1, step)
		}
	}
}

// The tables are not changed under a gateway that may not know the change, and one that
// was looking at them meanwhile does not go on.
func TestAGatewayOfBeforeIsNotPassedOver(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	run := func(sql string) string { return server.Run(t, "postgres", "set search_path = threshline; "+sql) }
	run("update about set version = version - 1")
	before := run("select version from about")
	open := func() error {
		next, err := Open(t.Context(), server.URL("postgres"), Options{CallersClock: true})
		if err == nil {
			err = next.Close()
		}
		return err
	}
	if err := open(); !errors.Is(err, session.ErrBusy) {
		t.Errorf("beside a gateway that is open: %v, want %v", err, session.ErrBusy)
	}
	if is := run("select version from about"); is != before {
		t.Errorf("the tables are of step %s, they were of %s", is, before)
	}
	if err := file(s, 1); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	if err := open(); err != nil {
		t.Errorf("when it is closed: %v", err)
	}
}

// A gateway whose presence was cut for a moment, in which a later program changed the
// tables, writes nothing more.
func TestAGatewayWhoseTablesWentOnHalts(t *testing.T) {
	t.Parallel()
	s, server := alone(t)
	server.Run(t, "postgres", "set search_path = threshline; update about set version = version + 1")
	server.Run(t, "postgres", "select pg_terminate_backend(pid) from pg_locks where locktype = 'advisory' and mode = 'ShareLock'")
	select {
	case <-s.Halted():
	case <-time.After(time.Minute):
		t.Fatal("it goes on")
	}
	if err := s.Healthy(); !errors.Is(err, session.ErrHalted) || !errors.Is(err, ErrNewer) {
		t.Errorf("it says %v", err)
	}
	if err := file(s, 1); !errors.Is(err, session.ErrHalted) {
		t.Errorf("a check is answered with %v", err)
	}
	if n := server.Run(t, "postgres", "select count(*) from threshline.checks"); n != "0" {
		t.Errorf("%s checks are stored", n)
	}
}
