package postgres

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// leaves has somebody forgotten.
func leaves(s *Store, who session.Person) error {
	_, err := write(s, "", leaving(who))
	return err
}

func leaving(who session.Person) session.Writes {
	after := session.Person{ID: who.ID, Role: who.Role, Version: 1}
	return session.Writes{People: []session.Person{after}, Forget: []session.Trace{who.Trace()}}
}

// naming is what a turn writes that names somebody wherever it can.
func naming(phone session.Phone, who session.Person) session.Writes {
	text := fmt.Sprintf("Lot of %s, %s, 8 bags", who.Name, string(who.Phone))
	d := session.Dialogue{Phone: phone, Screen: "menu"}
	d.Memo.Lead = text
	o := storetest.Outgoing(7)
	o.ID, o.Text = session.OutgoingID("alert to "+phone), text
	return session.Writes{
		Dialogue: &d, Reply: session.Reply{Text: text}, Outgoing: []session.Outgoing{o},
		Asks:      []session.Ask{{Kind: session.AskPhone, ID: string(who.Phone)}},
		Reminders: []session.Reminder{{ID: "recheck:z", Due: storetest.Begin, Person: who.ID, Phone: who.Phone}},
	}
}

// inNoByte fails where a column of any table holds a name or number of somebody.
func inNoByte(t *testing.T, s *Store, who session.Person) {
	t.Helper()
	var columns []string
	const list = `select format('select %L, count(*) from %I where position($1::bytea in %s) > 0', table_name || '.' || column_name, table_name,
			case data_type when 'bytea' then format('%I', column_name) else format('convert_to(%I, ''UTF8'')', column_name) end)
		from information_schema.columns where table_schema = current_schema() and data_type in ('bytea', 'text')`
	if err := each(t.Context(), s.pool, list, nil, func(r pgx.Rows) error {
		var sql string
		err := r.Scan(&sql)
		columns = append(columns, sql)
		return err
	}); err != nil {
		t.Fatal(err)
	}
	if len(columns) < 20 {
		t.Fatalf("the tables have %d columns", len(columns))
	}
	for _, sql := range columns {
		for _, word := range who.Trace().Words() {
			var column string
			var n int
			if err := s.pool.QueryRow(t.Context(), sql, []byte(word)).Scan(&column, &n); err != nil {
				t.Fatal(err)
			}
			if n > 0 {
				t.Errorf("%q is still in %s", word, column)
			}
		}
	}
}

var forgotten = []session.Person{
	{ID: "halima", Role: session.Grower, Phone: "+33639980042", Name: "Halima Ward"},
	{ID: "unnamed", Role: session.Grower, Phone: "+33639980043"},
}

// Somebody is forgotten by one gateway while a turn at another has read who they are.
func TestWhoIsForgottenInTheMiddleOfATurnComesBackNowhere(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s, other := at(t, server.URL("postgres"), Options{CallersClock: true}), at(t, server.URL("postgres"), Options{CallersClock: true})
	for _, who := range forgotten {
		if _, err := write(s, "", session.Writes{People: []session.Person{who}}); err != nil {
			t.Fatal(err)
		}
		runs, phone := 0, storetest.Phone(50+len(who.Name))
		if _, err := s.Exchange(t.Context(), session.Key{Phone: phone, Duplicate: "m", KeepUntil: storetest.Begin}, func(v session.View) (session.Writes, error) {
			is, err := v.Person(who.ID)
			if err != nil {
				return session.Writes{}, err
			}
			if runs++; runs == 1 {
				if err := leaves(other, who); err != nil {
					return session.Writes{}, err
				}
			}
			return naming(phone, is), nil
		}); err != nil || runs != 2 {
			t.Errorf("%d runs, %v", runs, err)
		}
		inNoByte(t, s, who)
	}
}

// An exchange that names somebody is being written while they are forgotten, by a
// gateway that goes on, and by one that is killed at once.
func TestWhoIsForgottenWhileTheyAreWrittenComesBackNowhere(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s, other := at(t, server.URL("postgres"), Options{CallersClock: true}), at(t, server.URL("postgres"), Options{CallersClock: true})
	for i, who := range slices.Concat(forgotten, forgotten) {
		killed := i >= len(forgotten)
		who.ID += session.PersonID(fmt.Sprint(i))
		if _, err := write(s, "", session.Writes{People: []session.Person{who}}); err != nil {
			t.Fatal(err)
		}
		phone := storetest.Phone(60 + i)
		key := session.Key{Phone: phone, Duplicate: "m", KeepUntil: storetest.Begin.Add(time.Hour)}
		w := naming(phone, who)
		x, err := prepare(key, s.hasher.AnswerKey(key), 0, &w)
		if err != nil {
			t.Fatal(err)
		}
		late, err := other.pool.Begin(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := late.Exec(t.Context(), writeSQL, arrays([]*job{{x: x}})...); err != nil {
			t.Fatal(err)
		}
		left := make(chan error, 1)
		go func() {
			w := leaving(who)
			if !killed {
				left <- leaves(s, who)
				return
			}
			x, err := prepare(session.Key{}, nil, 0, &w)
			if err == nil {
				_, err = s.erase(t.Context(), x)
			}
			left <- err
		}()
		eventually(t, "they are forgotten", func() bool {
			return server.Run(t, "postgres", "select count(*) from threshline.forgetting") == "1"
		})
		if err := late.Commit(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := <-left; err != nil {
			t.Fatal(err)
		}
		if _, err := other.Sweep(t.Context(), storetest.Begin, 9); err != nil { // as each gateway does every minute
			t.Fatal(err)
		}
		inNoByte(t, s, who)
	}
}

// The database has the last look for somebody give way to another transaction.
func TestTheLastLookForWhoIsForgottenIsTakenAgain(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s := at(t, server.URL("postgres"), Options{CallersClock: true})
	who := forgotten[0]
	if _, err := write(s, "", session.Writes{People: []session.Person{who}}); err != nil {
		t.Fatal(err)
	}
	server.Run(t, "postgres", `create sequence threshline.tries; create function threshline.gives_way() returns trigger language plpgsql as $$
		begin
			if nextval('threshline.tries') < 3 then raise exception 'deadlock detected' using errcode = 'deadlock_detected'; end if;
			return old;
		end $$; create trigger gives_way before delete on threshline.forgetting for each row execute function threshline.gives_way()`)
	if err := leaves(s, who); err != nil {
		t.Fatal(err)
	}
	if n := server.Run(t, "postgres", "select count(*) from threshline.forgetting"); n != "0" {
		t.Errorf("%s wait to be looked for once more", n)
	}
	inNoByte(t, s, who)
}

// Who files a check locks the order of checks first and a dialogue last. Somebody who
// is forgotten meanwhile, and is named in that dialogue, waits in that order too.
func TestWhoIsForgottenWaitsForWhoFilesWithoutADeadlock(t *testing.T) {
	server := cluster.Start(t, "fsync=off")
	s, other := at(t, server.URL("postgres"), Options{CallersClock: true}), at(t, server.URL("postgres"), Options{CallersClock: true})
	who, agent := forgotten[0], storetest.Phone(61)
	for phone, w := range map[string]session.Writes{"": {People: []session.Person{who}}, string(agent): naming(agent, who)} {
		if _, err := write(s, phone, w); err != nil {
			t.Fatal(err)
		}
	}
	files, err := other.pool.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer files.Rollback(t.Context())
	if _, err := files.Exec(t.Context(), "select pg_advisory_xact_lock(hashtextextended(current_schema() || ' checks', 0)) from fresh(0)"); err != nil {
		t.Fatal(err)
	}
	left := make(chan error, 1)
	go func() { left <- leaves(s, who) }()
	eventually(t, "it waits", func() bool {
		return server.Run(t, "postgres", "select count(*) from pg_locks where not granted") == "1"
	})
	if _, err := files.Exec(t.Context(), "update dialogues set version = nextval('dialogue_version') where phone = $1", string(agent)); err != nil {
		t.Errorf("who files: %v", err)
	}
	if err := files.Rollback(t.Context()); err != nil {
		t.Error(err)
	}
	if err := <-left; err != nil {
		t.Errorf("who is forgotten: %v", err)
	}
	if n := server.Run(t, "postgres", "select deadlocks from pg_stat_database where datname = 'postgres'"); n != "0" {
		t.Errorf("%s deadlocks", n)
	}
}
