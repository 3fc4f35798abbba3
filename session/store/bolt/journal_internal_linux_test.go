package bolt

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/journal"
)

// While the journal's disk is full, nothing is acknowledged that it does not
// hold: not even a message that comes again and is in the store by then.
func TestNothingIsAnsweredThatTheJournalDoesNotHold(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(filepath.Join(dir, "store.db"), Options{Journal: filepath.Join(dir, "journal")})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	file := func(slip session.Slip) (session.Outcome, error) {
		key := session.Key{Duplicate: "m-" + string(slip), KeepUntil: time.Unix(1_900_000_000, 0)}
		return s.Exchange(t.Context(), key, func(session.View) (session.Writes, error) {
			return session.Writes{Checks: []session.Check{{Slip: slip}}, Reply: session.Reply{Text: "filed"}}, nil
		})
	}
	if _, err := file("A"); err != nil {
		t.Fatal(err)
	}
	good := s.journal.File
	full, err := os.OpenFile("/dev/full", os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer full.Close()
	s.journal.File = full // no exchange is under way
	for range 3 {
		if _, err := file("B"); !errors.Is(err, session.ErrFull) {
			t.Fatalf("got %v", err)
		}
	}
	if _, err := file("C"); !errors.Is(err, session.ErrFull) || !errors.Is(s.Healthy(), session.ErrFull) {
		t.Fatalf("got %v", err)
	}
	if out, err := file("A"); !errors.Is(err, session.ErrFull) {
		t.Errorf("an older message is answered %+v, %v", out, err)
	}
	s.journal.File = good
	if out, err := file("B"); err != nil || !out.Duplicate || out.Reply.Text != "filed" {
		t.Errorf("with room again: %+v, %v", out, err)
	}
	if _, err := file("C"); err != nil || s.Healthy() != nil {
		t.Error(err, s.Healthy())
	}
	info, err := good.Stat()
	if err != nil {
		t.Fatal(err)
	}
	r, _, err := journal.Read(good, info.Size())
	if err != nil {
		t.Fatal(err)
	}
	var slips []session.Slip
	if _, err := r.Each(func(_ byte, body []byte, _ journal.Span) error {
		k, err := journal.CheckOf(body)
		slips = append(slips, k.Slip)
		return err
	}); err != nil || len(slips) != 3 || slips[0] != "A" || slips[1] != "B" || slips[2] != "C" {
		t.Errorf("the journal holds %v, %v", slips, err)
	}
}
