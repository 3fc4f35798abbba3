package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/session/store/bolt"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/record"
)

// storeBlock finds README's [store] of a database; movingBlock its commands for
// moving there, and back.
var (
	storeBlock  = regexp.MustCompile("(?s)```toml store\n(.*?)```")
	movingBlock = regexp.MustCompile("(?s)```sh moving( back)?\n(.*?)```")
	fileStore   = regexp.MustCompile(`(?s)\[store\]\n.*?\n\n`)
)

// TestTheReadmesWayToPostgresAndBack runs its commands as they stand, and holds
// that the store that comes back is the one that went.
func TestTheReadmesWayToPostgresAndBack(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(moduleRoot, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	moves := movingBlock.FindAllStringSubmatch(string(text), -1)
	if len(moves) != 2 {
		t.Fatalf("found %d ways", len(moves))
	}
	server := cluster.Start(t, "fsync=off")
	t.Setenv("DATABASE_URL", server.URL("postgres"))
	t.Chdir(t.TempDir())
	inFile := string(demo.Config)
	inDatabase := fileStore.ReplaceAllLiteralString(inFile, storeBlock.FindStringSubmatch(string(text))[1]+"\n")
	if !strings.Contains(inDatabase, "env:DATABASE_URL") {
		t.Fatal("the demonstration's [store] was not found")
	}
	for name, text := range map[string]string{"threshline.toml": inFile, "postgres.toml": inDatabase} {
		text = strings.Replace(text, "[store]\n", "[store]\njournal = \"valley.journal\"\n", 1) // it moves along
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s := stationOf(t, "threshline.toml")
	if _, err := demo.File(t.Context(), s.store, s.programme, time.Now()); err != nil {
		t.Fatal(err)
	}
	path := s.cfg.StorePath()
	if err := s.close(); err != nil {
		t.Fatal(err)
	}
	want := contents(t, path)
	for _, block := range moves {
		for line := range strings.Lines(block[2]) {
			said, code := runCommand(t, strings.TrimSpace(line))
			if code != 0 {
				t.Fatalf("%s: %d\n%s", line, code, said)
			}
		}
		if block[1] == "" {
			s := stationOf(t, "postgres.toml")
			checks, err := s.store.Newest(t.Context(), 1)
			if err != nil || len(checks) != 1 {
				t.Errorf("in the database: %d checks, %v", len(checks), err)
			}
			if state := s.store.(database).Journal(); state.Path == "" || state.Added != 0 || state.Anew {
				t.Errorf("the file's journal does not go on beside the database: %+v", state)
			}
			if said, code := runCommand(t, "threshline restore --config postgres.toml --from moving.db --overwrite"); code == 0 {
				t.Errorf("a database in use was replaced: %s", said)
			}
			if err := s.close(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if got := contents(t, path); !slices.Equal(want, got) {
		t.Errorf("%d things went, %d came back, or some are not what they were", len(want), len(got))
	}

	// The database is lost, and made again of the journal.
	line := "threshline restore --config postgres.toml --from-journal valley.journal --overwrite"
	if said, code := runCommand(t, line); code != 0 {
		t.Fatalf("%s: %d\n%s", line, code, said)
	}
	if said, code := runCommand(t, "threshline backup --config postgres.toml --to again.db"); code != 0 {
		t.Fatal(said)
	}
	if got := kept(t, "again.db"); !reflect.DeepEqual(got, kept(t, path)) || len(got.checks) == 0 {
		t.Errorf("of the journal came %d checks and %d people", len(got.checks), len(got.people))
	}
	if err := stationOf(t, "postgres.toml").close(); err != nil {
		t.Errorf("a start over what was restored: %v", err)
	}
}

func stationOf(t *testing.T, path string) *station {
	t.Helper()
	cfg, err := config.Load(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := openStation(cfg, cfg.StorePath(), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// runCommand runs a line as a shell would, in this process.
func runCommand(t *testing.T, line string) (said string, code int) {
	t.Helper()
	words := strings.Fields(line)
	if words[0] != "threshline" {
		t.Fatalf("%q is not ours to run", line)
	}
	var out bytes.Buffer
	code = run(context.Background(), words[1:], stdio{strings.NewReader(""), &out, &out})
	return out.String(), code
}

// contents are all that a store file holds, in one order.
func contents(t *testing.T, path string) (all []string) {
	t.Helper()
	store, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if err := store.Export(t.Context(), func(thing record.Thing) error {
		switch {
		case thing.Person != nil:
			all = append(all, fmt.Sprintf("%#v", *thing.Person))
		case thing.Check != nil:
			all = append(all, fmt.Sprintf("%+v", *thing.Check))
		case thing.Counted != nil:
			all = append(all, fmt.Sprintf("%+v", *thing.Counted))
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	slices.Sort(all)
	return all
}

// A start over a database holds its clock against the last sweep of any gateway.
func TestAStartOverADatabaseHoldsItsClockAgainstTheLastSweep(t *testing.T) {
	server := cluster.Start(t, "fsync=off")
	t.Setenv("DATABASE_URL", server.URL("postgres"))
	t.Chdir(t.TempDir())
	inDatabase := fileStore.ReplaceAllLiteralString(string(demo.Config), "[store]\nengine = \"postgres\"\nurl = \"env:DATABASE_URL\"\n\n")
	if err := os.WriteFile("postgres.toml", []byte(inDatabase), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, days := range []int{0, 2, 10} { // before the first sweep, and so long after the last
		s := stationOf(t, "postgres.toml")
		if doubt := s.clock.Doubt(); doubt != "" {
			t.Errorf("before: %q", doubt)
		}
		last := time.Now().AddDate(0, 0, -days)
		if days > 0 {
			server.Run(t, "postgres", "update threshline.about set swept = (-9223372036854775808)::bigint")
			if _, err := s.store.Sweep(t.Context(), last, 10); err != nil {
				t.Fatal(err)
			}
			if _, err := s.store.Sweep(t.Context(), last.AddDate(-1, 0, 0), 10); err != nil { // one whose clock is behind
				t.Fatal(err)
			}
		}
		if err := s.close(); err != nil {
			t.Fatal(err)
		}
		s = stationOf(t, "postgres.toml")
		doubt, sure := s.clock.Doubt(), s.clock.Sure()
		if days == 10 && (!strings.Contains(doubt, "10 days ahead of the last commit") || time.Since(sure) < 9*24*time.Hour) || days < 10 && doubt != "" {
			t.Errorf("%d days after the last sweep: %q, sure of %v", days, doubt, sure)
		}
		if err := s.close(); err != nil {
			t.Fatal(err)
		}
	}
}
