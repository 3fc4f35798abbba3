package bolt_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"threshline/session/store/bolt"
)

// aKept is a store at rest with a journal of n checks, and what it holds.
func aKept(t *testing.T, n int) (k kept, want all, journal []byte) {
	t.Helper()
	k = newKept(t)
	s := k.open(t)
	work(t, s, 0, n)
	want = everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return k, want, contents(t, k.journal)
}

// journalHead is where the first record begins: its length, then its sum.
const journalHead = 37

func TestAFlippedLengthLosesOneRecord(t *testing.T) {
	k, want, whole := aKept(t, 40)
	for _, flip := range []struct {
		at   int
		mask byte
	}{{journalHead, 0x80}, {journalHead + 1, 0x10}, {journalHead + 3, 0x04}, {journalHead + 5, 1}} {
		broken := bytes.Clone(whole)
		broken[flip.at] ^= flip.mask
		write(t, k.journal, broken)
		got, found := rebuilt(t, copyOf(t, k.journal), nil)
		if len(found.Gaps) != 1 || found.Gaps[0].At != journalHead || found.Torn != 0 || !found.Lossy() {
			t.Errorf("flip at %d: found %+v", flip.at, found)
		}
		if len(got.Checks) != len(want.Checks) || len(got.People) != len(want.People)-1 {
			t.Errorf("flip at %d: %d checks and %d people of %d and %d", flip.at, len(got.Checks), len(got.People), len(want.Checks), len(want.People))
		}
		// The store has all of it, and mends the journal; the rest is kept.
		s := k.open(t)
		if state := s.Journal(); len(state.Gaps) != 1 || !state.Anew || len(state.Kept) != 1 {
			t.Errorf("flip at %d: a start found %+v", flip.at, state)
		} else if part := contents(t, state.Kept[0]); !bytes.Equal(part, broken[journalHead:journalHead+len(part)]) {
			t.Error("what was kept is not what could not be read")
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if got, found := rebuilt(t, k.journal, nil); !reflect.DeepEqual(want, got) || found.Lossy() {
			t.Errorf("flip at %d: not mended, %+v", flip.at, found)
		}
	}
}

func TestMissingChecksAreCounted(t *testing.T) {
	_, want, whole := aKept(t, 40)
	broken := bytes.Clone(whole)
	half := len(broken) / 2
	for i := range 2000 {
		broken[half+i] ^= 0xa5
	}
	path := filepath.Join(t.TempDir(), "journal")
	write(t, path, broken)
	got, found := rebuilt(t, path, nil)
	if lost := len(want.Checks) - len(got.Checks); lost == 0 || found.Missing < uint64(lost) || found.Missing > uint64(2*lost+4) {
		t.Errorf("%d checks are lost, found %+v", lost, found)
	}
}

// The store is an older copy, and the journal's end cannot be read: nothing is
// cut before that was found out.
func TestAJournalThatIsAheadIsNotCut(t *testing.T) {
	k := newKept(t)
	old := copyAfter(t, k, 10)
	broken := contents(t, k.journal)
	broken[len(broken)-60] ^= 4
	write(t, k.journal, broken)
	if _, err := bolt.Open(old, bolt.Options{Journal: k.journal}); !errors.Is(err, bolt.ErrJournal) {
		t.Errorf("got %v", err)
	}
	if !bytes.Equal(contents(t, k.journal), broken) {
		t.Error("the journal was changed")
	}
}

func TestATornEndIsKeptBeside(t *testing.T) {
	k, want, whole := aKept(t, 10)
	write(t, k.journal, whole[:len(whole)-20])
	s := k.open(t)
	defer s.Close()
	state := s.Journal()
	if len(state.Kept) != 1 || state.Torn == 0 {
		t.Fatalf("found %+v", state)
	}
	if part := contents(t, state.Kept[0]); !bytes.HasSuffix(whole[:len(whole)-20], part) || int64(len(part)) != state.Torn {
		t.Error("what was kept is not the torn end")
	}
	if got := everything(t, s); !reflect.DeepEqual(want, got) {
		t.Error("the store has changed")
	}
}

func TestAFlippedHeadIsMended(t *testing.T) {
	k, want, whole := aKept(t, 10)
	for _, at := range []int{0, 15, 22, 36} { // in what the file says it is, and in its id
		broken := bytes.Clone(whole)
		broken[at] ^= 2
		write(t, k.journal, broken)
		if got, _ := rebuilt(t, copyOf(t, k.journal), nil); !reflect.DeepEqual(want, got) {
			t.Errorf("flip at %d: rebuilt otherwise", at)
		}
		if err := k.open(t).Close(); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(contents(t, k.journal)[:journalHead], whole[:journalHead]) {
			t.Errorf("flip at %d: not mended", at)
		}
	}
	write(t, k.journal, []byte("something else altogether, and long enough to be a journal"))
	if _, err := bolt.Open(k.store, bolt.Options{Journal: k.journal}); !errors.Is(err, bolt.ErrForeign) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(k.journal); err != nil {
		t.Error(err)
	}
}
