package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres"
	"threshline/session/store/postgres/cluster"
)

// How hard gateways over one database are hit, beside databasePhones; KILLS says how often.
const (
	databaseKills = 5
	gateways      = 3
)

// databaseLines stand in a site's [store] for its file.
func databaseLines(t *testing.T, url string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "database")
	if err := os.WriteFile(path, []byte(url), 0o600); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("engine = \"postgres\"\nurl = \"file:%s\"", path)
}

// replicated are a primary and its synchronous standby, which take each other's
// place.
type replicated struct {
	primary, standby *cluster.Server
}

const standbyName = "threshline"

func startReplicated(t *testing.T) *replicated {
	t.Helper()
	settings := []string{"synchronous_standby_names=" + standbyName, "max_connections=120", "wal_level=replica"}
	r := &replicated{primary: cluster.Start(t, settings...)}
	r.standby = r.primary.Standby(t, standbyName, 0)
	r.await(t)
	return r
}

// await waits until the standby holds what the primary answers.
func (r *replicated) await(t *testing.T) {
	t.Helper()
	r.primary.Run(t, "postgres", fmt.Sprintf(`set statement_timeout = %d; do $$ begin
		while not exists (select from pg_stat_get_wal_senders() where sync_state = 'sync') loop perform pg_sleep(0.02); end loop;
	end $$`, patience.Milliseconds()))
}

// failOver kills the primary, has the standby take its place, and makes a new
// standby where the primary was.
func (r *replicated) failOver(t *testing.T) {
	t.Helper()
	was := r.primary
	was.Kill()
	r.standby.Promote(t)
	r.primary = r.standby
	r.standby = r.primary.Standby(t, standbyName, was.Port)
	r.await(t)
}

func (r *replicated) url() string {
	return cluster.URL("postgres", r.primary.Address(), r.standby.Address())
}

// TestNothingAcknowledgedIsLostWhenGatewaysAndThePrimaryAreKilled has hundreds
// of phones talk to several gateways over one database, and kills one of them,
// or the database's primary, again and again. Phones go from gateway to gateway.
func TestNothingAcknowledgedIsLostWhenGatewaysAndThePrimaryAreKilled(t *testing.T) {
	t.Parallel()
	kills := countOr("KILLS", databaseKills)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	both := startReplicated(t)
	carrier := newCarrierStub(t, rand.New(rand.NewPCG(seed, 2)))
	program := buildProgram(t)
	inDatabase := databaseLines(t, both.url())
	var sites []*site
	for range gateways {
		sites = append(sites, newSite(t, program, carrier.address(), `path = "threshline.db"`, inDatabase))
	}
	runs := make([]*child, gateways)
	for i, s := range sites {
		runs[i] = s.start(t)
	}
	for _, run := range runs {
		run.served(t)
	}
	town := newTown(databasePhones)
	phones := settle(t, town, carrier, seed)

	var away []time.Duration
	for kill := range kills {
		at := random.IntN(gateways)
		town.move(runs[at].address)
		town.answered(1 + random.IntN(400))
		if kill%2 == 0 {
			begun := time.Now()
			both.failOver(t)
			town.answered(1)
			away = append(away, time.Since(begun).Round(time.Millisecond))
		} else {
			town.move(runs[(at+1)%gateways].address)
			runs[at].kill(t)
			town.answered(1 + random.IntN(100))
			runs[at] = sites[at].start(t)
			runs[at].served(t)
		}
		town.move("")
		town.quiet()
		if t.Failed() {
			t.Fatalf("after kill %d", kill+1)
		}
		examineDatabase(t, both, phones, false)
	}
	town.update(func() { town.over = true })
	town.move(runs[0].address)
	town.await(func() bool { return town.left == town.phones })
	for _, run := range runs {
		run.stop(t)
	}
	store := examineDatabase(t, both, phones, true)
	rebuildFromJournals(t, sites, inDatabase, store)
	compareWithUnkilled(t, sites[0], phones)
	emptyOut(t, sites[0], store, carrier, phones)
	var log strings.Builder
	for _, s := range sites {
		log.WriteString(s.log.String())
	}
	holdLog(t, log.String(), phones)
	t.Logf("%d exchanges answered, %d kills; without an answer after a primary's end, its standby promoted and a new one made: %v", town.acks, kills, away)
}

// examineDatabase looks at what the database holds, as examine does at a file.
func examineDatabase(t *testing.T, both *replicated, phones []*phone, clean bool) engine {
	t.Helper()
	store, err := postgres.Open(context.Background(), both.url(), postgres.Options{CallersClock: true, Connections: 8})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	if err := store.Verify(t.Context()); err != nil {
		t.Fatal(err)
	}
	err = store.Read(t.Context(), func(v session.View) error {
		for _, p := range phones {
			if err := p.examine(v, clean); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !clean {
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return database{store}
}

// rebuildFromJournals makes a store of the gateways' journals, and wants all
// checks and people of the database in it.
func rebuildFromJournals(t *testing.T, sites []*site, inDatabase string, store engine) {
	t.Helper()
	var want records
	var err error
	if want.checks, err = store.Filed(t.Context(), 0, 1<<20); err != nil {
		t.Fatal(err)
	}
	if want.people, err = store.People(t.Context(), "", 1<<20); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(sites[0].config())
	if err != nil {
		t.Fatal(err)
	}
	config := filepath.Join(sites[0].dir, "rebuilt.toml")
	if err := os.WriteFile(config, []byte(strings.Replace(string(text), inDatabase, `path = "rebuilt.db"`, 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"restore", "--config", config}
	for _, s := range sites {
		args = append(args, "--from-journal", filepath.Join(s.dir, "threshline.journal"))
	}
	if code, out, problem := commandLine(t, args...); code != 0 {
		t.Fatalf("restore: %d %s%s", code, out, problem)
	}
	if got := kept(t, filepath.Join(sites[0].dir, "rebuilt.db")); len(want.checks) == 0 || !reflect.DeepEqual(got, want) {
		t.Errorf("from the journals: %d checks and %d people, want %d and %d, all the same", len(got.checks), len(got.people), len(want.checks), len(want.people))
	}
}

// served waits until a run serves, and is ready: its ledger follows a database
// that others write.
func (c *child) served(t *testing.T) {
	t.Helper()
	select {
	case address, ok := <-c.serving:
		if !ok {
			t.Fatal("the program ended before it served")
		}
		c.address = address
	case <-time.After(patience):
		t.Fatal("the program does not serve")
	}
	for deadline := time.Now().Add(patience); ; {
		status, text := c.get(t, "/readyz")
		if status == 200 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("it serves but does not become ready: %d %s", status, text)
		}
		<-time.After(10 * time.Millisecond)
	}
}
