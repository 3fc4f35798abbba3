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

	"threshline/cmd/threshline/config"
	"threshline/gateway"
	"threshline/gateway/dispatch"
	"threshline/gateway/gsm"
	"threshline/session"
	"threshline/session/screen"
	"threshline/session/store/bolt"
	"threshline/session/store/mem"
	"threshline/session/talk"
)

// randomParts is what differs between two runs of the same dialogue: slips,
// and which bags to spear.
var randomParts = regexp.MustCompile(`Slip [2-9A-Z]{7}|bags: [0-9, ]+\.`)

func masking(reply string) string { return randomParts.ReplaceAllString(reply, "~") }

// compareWithUnkilled plays what each phone sent to the same screens over a
// store in memory, and wants the same answers.
func compareWithUnkilled(t *testing.T, s *site, phones []*phone) {
	t.Helper()
	machine := siteDialogue(t, s)
	store := mem.New(mem.Options{})
	for _, p := range phones {
		want, err := p.unkilled(machine, store)
		if err != nil {
			t.Fatal(err)
		}
		if p.kind == session.SMS {
			continue // answered by calls; see emptyTheQueue
		}
		for i := range want {
			if got := masking(p.replies[i]); got != want[i] {
				t.Fatalf("%v, entry %d %q: answered\n%s\nwant\n%s", p.number, i, p.sent[i], got, want[i])
			}
		}
	}
}

func siteDialogue(t *testing.T, s *site) *talk.Machine {
	t.Helper()
	cfg, err := config.Load(s.config())
	if err != nil {
		t.Fatal(err)
	}
	p, words, err := cfg.Build()
	if err != nil {
		t.Fatal(err)
	}
	return screen.NewMachine(p, words)
}

// unkilled is what the phone is answered where nothing ever goes wrong.
func (p *phone) unkilled(machine *talk.Machine, store *mem.Store) (replies []string, err error) {
	at := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
	for _, entry := range p.sent {
		at = at.Add(time.Second)
		in := session.Input{
			Channel: "valley-" + string(p.kind), Kind: p.kind, Event: session.Continue, Phone: p.number, Text: entry, At: at,
			NetworkSession: "s" + string(p.number[1:]), Budget: session.Budget{Septets: 160, Count: gsm.Count},
		}
		if p.kind == session.SMS {
			in.NetworkSession = ""
		} else if entry == "" {
			in.Event = session.Start
		}
		out, err := store.Exchange(context.Background(), session.Key{Phone: p.number}, func(v session.View) (session.Writes, error) {
			in.Entropy = [2]uint64{p.random.Uint64(), p.random.Uint64()} // anew for each run, as the gateway does: a slip may be taken
			return machine.Step(v, in)
		})
		if err != nil {
			return nil, err
		}
		replies = append(replies, masking(out.Reply.Text))
	}
	return replies, nil
}

// workOff lets a worker hand on what waits in a store, by a clock that runs
// ahead of pauses and of the last lease of a killed run.
func workOff(t *testing.T, s *site, store engine) {
	t.Helper()
	ctx := context.Background()
	cfg, err := config.Load(s.config())
	if err != nil {
		t.Fatal(err)
	}
	built, err := buildChannels(cfg, gateway.NewClient())
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	worker, err := dispatch.New(dispatch.Config{Queue: store, Outlets: built.out, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	for counts := queued(t, store); counts > 0; counts = queued(t, store) {
		now = now.Add(10 * time.Minute)
		if time.Until(now) > 23*time.Hour {
			t.Fatalf("%d messages never leave the queue", counts)
		}
		for {
			if n, err := worker.Round(ctx); err != nil {
				t.Fatal(err)
			} else if n == 0 {
				break
			}
		}
	}
}

// emptyTheQueue hands on what is still waiting, and wants every answer at the
// carrier once, saying what it should.
func emptyTheQueue(t *testing.T, s *site, carrier *carrierStub, phones []*phone) {
	t.Helper()
	store := openCopy(t, s)
	defer store.Close()
	emptyOut(t, s, store, carrier, phones)
}

// emptyOut is emptyTheQueue of a store that is open.
func emptyOut(t *testing.T, s *site, store engine, carrier *carrierStub, phones []*phone) {
	t.Helper()
	workOff(t, s, store)
	byPhone, faults := carrier.took()
	if len(faults) > 0 {
		t.Errorf("the carrier saw %d faults, first %s", len(faults), faults[0])
	}
	machine, memory := siteDialogue(t, s), mem.New(mem.Options{})
	for _, p := range phones {
		if err := p.compareTexts(byPhone[p.number], machine, memory); err != nil {
			t.Fatalf("%v: %v", p.number, err)
		}
	}
}

func queued(t *testing.T, store interface {
	Counts(context.Context) (map[session.OutgoingState]int, error)
}) int {
	t.Helper()
	counts, err := store.Counts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, lost := range []session.OutgoingState{session.Dead, session.Expired, session.Refused, session.Failed} {
		if counts[lost] > 0 {
			t.Fatalf("%d messages are %q", counts[lost], lost)
		}
	}
	return counts[session.Queued]
}

// compareTexts holds the texts that a phone got against those it should have.
func (p *phone) compareTexts(texts []handed, machine *talk.Machine, memory *mem.Store) error {
	var got, want []string
	if p.kind == session.SMS {
		var err error
		if want, err = p.unkilled(machine, memory); err != nil {
			return err
		}
		want = slices.DeleteFunc(want, func(s string) bool { return s == "" })
	}
	for _, m := range texts {
		got = append(got, masking(m.Text))
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		return fmt.Errorf("%d texts went out, %d were due:\n%q\n%q", len(got), len(want), got, want)
	}
	return nil
}

// logKey finds the keys of a line of the log.
var logKey = regexp.MustCompile(`"[a-z_]+":`)

// holdLog wants no phone's number and no secret in what all runs logged.
func holdLog(t *testing.T, log string, phones []*phone) {
	t.Helper()
	if !strings.Contains(log, `"message":"serving"`) {
		t.Fatal("there is no log to look at")
	}
	if strings.Contains(log, valleyToken) {
		t.Error("the log holds a secret")
	}
	for line := range strings.Lines(log) {
		keys := slices.Sorted(slices.Values(logKey.FindAllString(line, -1)))
		if len(slices.Compact(slices.Clone(keys))) != len(keys) {
			t.Errorf("a key stands twice in %s", line)
			break
		}
	}
	for _, p := range phones {
		if strings.Contains(log, string(p.number[3:])) {
			t.Errorf("the log holds a whole number, %v", p.number)
		}
	}
}

// openBackups wants every backup that was made between the kills to be whole,
// and no more of them than are to be kept.
func openBackups(t *testing.T, s *site) {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(s.dir, "backups", "*.db"))
	if err != nil || len(paths) == 0 || len(paths) > 4 { // a kill may fall before the oldest goes
		t.Errorf("%d backups: %v", len(paths), err)
	}
	for _, path := range paths {
		if err := bolt.VerifyFile(t.Context(), path); err != nil {
			t.Error(err)
		}
	}
}

// rebuildAll makes a store of the journal alone, and of the oldest backup and
// the journal, and wants all checks and people in it.
func rebuildAll(t *testing.T, s *site) {
	t.Helper()
	backups, _ := filepath.Glob(filepath.Join(s.dir, "backups", "*.db"))
	journal := filepath.Join(s.dir, "threshline.journal")
	want := kept(t, s.store())
	for _, from := range []string{"", backups[0]} {
		path := filepath.Join(s.dir, "rebuilt.db")
		changed := strings.NewReplacer(`"threshline.db"`, `"rebuilt.db"`)
		text, err := os.ReadFile(s.config())
		if err != nil {
			t.Fatal(err)
		}
		config := filepath.Join(s.dir, "rebuilt.toml")
		if err := os.WriteFile(config, []byte(changed.Replace(string(text))), 0o600); err != nil {
			t.Fatal(err)
		}
		args := []string{"restore", "--config", config, "--from-journal", journal, "--overwrite"}
		if from != "" {
			args = append(args, "--from", from)
		}
		var out, problem bytes.Buffer
		if code := run(t.Context(), args, stdio{strings.NewReader(""), &out, &problem}); code != 0 {
			t.Fatalf("restore: %d %s", code, problem.String())
		}
		if got := kept(t, path); !reflect.DeepEqual(got, want) {
			t.Errorf("from %q and the journal: %d checks and %d people, want %d and %d, all the same", from, len(got.checks), len(got.people), len(want.checks), len(want.people))
		}
	}
}

// records are all checks and people of a store.
type records struct {
	checks []session.Check
	people []session.Person
}

func kept(t *testing.T, path string) (r records) {
	t.Helper()
	store, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if r.checks, err = store.Filed(t.Context(), 0, 1<<20); err != nil {
		t.Fatal(err)
	}
	if r.people, err = store.People(t.Context(), "", 1<<20); err != nil {
		t.Fatal(err)
	}
	return r
}
