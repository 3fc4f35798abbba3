package bolt_test

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"threshline/grading"
	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

var update = flag.Bool("update", false, "write the newest testdata/store/v*.db anew; only while no release reads it")

// oldFiles hold a store as each schema wrote it. None is written again once a
// release has read it: later programs must open it as it is.
var oldFiles = []string{"../../../testdata/store/v1.db", "../../../testdata/store/v2.db", "../../../testdata/store/v3.db", "../../../testdata/store/v4.db"}

// oldWrites is what the old file was given.
func oldWrites() session.Writes {
	d, agent, grower, one, two := storetest.Dialogue(storetest.Phone(1)), storetest.Person(1), storetest.Person(2), storetest.Check(1, "p000002", "p000001"), storetest.Check(2, "p000002", "p000001")
	agent.Role, grower.Agent, grower.Short, grower.Phone = session.Agent, agent.ID, 3, ""
	two.Recheck = one.Slip
	return session.Writes{
		Dialogue: &d, People: []session.Person{agent, grower}, Checks: []session.Check{one, two},
		Outgoing:  []session.Outgoing{storetest.Outgoing(1)},
		Reminders: []session.Reminder{{ID: "recheck p000002", Due: storetest.Begin, Kind: "recheck", Person: grower.ID, Slip: two.Slip}},
		Invites:   []session.Invite{{Code: "K7Q2", Role: session.Agent, District: "Kisima", Expires: storetest.Begin}},
		Notes:     []session.AuditNote{{At: storetest.Begin, Who: "coordinator", Did: "exported", Subject: "checks"}},
		Accounts:  []session.Account{storetest.Account(1)},
		Reply:     session.Reply{Text: "Filed.", More: true},
	}
}

var oldKey = session.Key{Phone: storetest.Phone(1), Duplicate: "valley-ussd 1", KeepUntil: storetest.Begin}

func TestOldFilesOpen(t *testing.T) {
	if *update {
		writeOld(t, oldFiles[len(oldFiles)-1])
	}
	if len(oldFiles) != bolt.Schema {
		t.Errorf("%d old files, but the schema is %d: keep one of each", len(oldFiles), bolt.Schema)
	}
	for i, file := range oldFiles {
		t.Run(filepath.Base(file), func(t *testing.T) { oldFileOpens(t, file, i+1) })
	}
}

func oldFileOpens(t *testing.T, oldFile string, schema int) {
	old, err := os.ReadFile(oldFile)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "store.db")
	write(t, path, old)
	s := open(t, path)
	ctx := context.Background()
	w := oldWrites()
	got, err := s.Exchange(ctx, oldKey, func(session.View) (session.Writes, error) { return session.Writes{}, nil })
	if err != nil || !got.Duplicate || got.Reply != w.Reply {
		t.Errorf("the message answered then: %+v, %v", got, err)
	}
	err = s.Read(ctx, func(v session.View) error {
		d, err := v.Dialogue(oldKey.Phone)
		equal(t, "dialogue", err, w.Dialogue.Drafts, d.Drafts)
		p, err := v.PersonByPhone(storetest.Phone(1))
		p.Version = 0
		equal(t, "agent", err, w.People[0], p)
		growers, err := v.Growers(p.ID)
		equal(t, "growers", err, 1, len(growers))
		k, err := v.Check(w.Checks[1].Slip)
		k.Version, k.Position = 0, 0
		equal(t, "check", err, w.Checks[1], k)
		_, err = v.Invite("K7Q2")
		return err
	})
	if err != nil {
		t.Error(err)
	}
	sent, err := s.Sent(ctx, session.Outgoing{}, 9)
	equal(t, "sent", err, w.Outgoing, sent)
	due, err := s.Due(ctx, storetest.Begin, 9)
	equal(t, "due", err, w.Reminders, due)
	notes, _, err := s.Notes(ctx, 0, 9)
	equal(t, "notes", err, w.Notes, notes)
	if schema >= 2 {
		a, err := s.Account(ctx, w.Accounts[0].ID)
		a.Version = 0
		equal(t, "account", err, w.Accounts[0], a)
	}
	if err := s.Verify(ctx); err != nil {
		t.Error(err)
	}
	for _, end := range []struct {
		at   time.Time
		kept bool
	}{{oldKey.KeepUntil.Add(-1), true}, {oldKey.KeepUntil, false}} {
		if _, err := s.Sweep(ctx, end.at, 99); err != nil {
			t.Error(err)
		}
		got, err := s.Exchange(ctx, oldKey, func(session.View) (session.Writes, error) { return session.Writes{}, nil })
		if err != nil || got.Duplicate != end.kept {
			t.Errorf("the message answered then, after a sweep at %v: %+v, %v", end.at, got, err)
		}
	}
}

func equal(t *testing.T, what string, err error, want, got any) {
	t.Helper()
	same := cmp.Comparer(func(a, b grading.Readings) bool { return cmp.Equal(measured(a), measured(b)) })
	if diff := cmp.Diff(want, got, same); err != nil || diff != "" {
		t.Errorf("%s: %v (-want +got):\n%s", what, err, diff)
	}
}

// measured lists what is in readings.
func measured(r grading.Readings) map[string]any {
	seen := map[string]any{"repeats": r.Repeats, "flags": r.Flags, "values": r.Values, "words": r.Words, "class": r.Class}
	for _, f := range grading.Fields() {
		if d, ok := r.Get(f); ok {
			seen[f.String()] = d
		}
	}
	return seen
}

func writeOld(t *testing.T, oldFile string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "store.db")
	s := open(t, path)
	if _, err := s.Exchange(context.Background(), oldKey, func(session.View) (session.Writes, error) { return oldWrites(), nil }); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := s.Backup(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	if err := bolt.Restore(context.Background(), oldFile, &b, true); err != nil {
		t.Fatal(err)
	}
}
