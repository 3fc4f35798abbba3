package bolt_test

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"threshline/session/store/bolt"
)

func TestAStoreIsRebuiltFromItsJournal(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 40)
	var early bytes.Buffer
	if err := s.Backup(t.Context(), &early); err != nil {
		t.Fatal(err)
	}
	work(t, s, 40, 80)
	want := everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	got, found := rebuilt(t, k.journal, nil)
	if !reflect.DeepEqual(want, got) {
		t.Errorf("from the journal alone: %+v\nwant %+v", got, want)
	}
	if found.Torn != 0 || len(found.Gaps) != 0 || found.Checks != 80+16 {
		t.Errorf("found %+v", found)
	}
	got, _ = rebuilt(t, k.journal, early.Bytes())
	if !reflect.DeepEqual(want, got) {
		t.Errorf("from an older backup and the journal: %+v\nwant %+v", got, want)
	}
}

// A power cut leaves any part of the last records.
func TestATornEndIsFoundAndSaidAndMended(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 6)
	want := everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(k.journal)
	if err != nil {
		t.Fatal(err)
	}
	tails := [][]byte{nil, make([]byte, 300)} // short, or blocks that were never written
	for cut := len(whole) - 1; cut > len(whole)-400; cut -= 7 {
		tail := tails[cut%2]
		if err := os.WriteFile(k.journal, append(bytes.Clone(whole[:cut]), tail...), 0o600); err != nil {
			t.Fatal(err)
		}
		s := k.open(t)
		state := s.Journal()
		if state.Torn == 0 && state.Added == 0 || len(state.Gaps) != 0 {
			t.Fatalf("cut at %d: %+v", cut, state)
		}
		if got := everything(t, s); !reflect.DeepEqual(want, got) {
			t.Fatalf("cut at %d: the store has changed", cut)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if got, found := rebuilt(t, k.journal, nil); !reflect.DeepEqual(want, got) || found.Torn != 0 {
			t.Fatalf("cut at %d: what was mended is not whole, %+v", cut, found)
		}
	}
}

func TestDamageInTheMiddleIsPassedOverAndMendedFromTheStore(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 30)
	want := everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(k.journal)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 1
	if err := os.WriteFile(k.journal, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, found := rebuilt(t, copyOf(t, k.journal), nil); len(found.Gaps) != 1 || found.Torn != 0 {
		t.Errorf("a rebuild found %+v", found)
	}
	s = k.open(t)
	if state := s.Journal(); len(state.Gaps) != 1 {
		t.Errorf("open found %+v", state)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if got, found := rebuilt(t, k.journal, nil); !reflect.DeepEqual(want, got) || len(found.Gaps) != 0 {
		t.Errorf("not mended: %+v", found)
	}
}

func copyOf(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "copy")
	if err := os.WriteFile(to, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return to
}

func TestWhoIsForgottenIsErasedFromTheJournalToo(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 10)
	correct(t, s, 6)
	forget(t, s, 6)
	data, err := os.ReadFile(k.journal)
	if err != nil {
		t.Fatal(err)
	}
	for _, trace := range []string{"Asha 6", "+33639980006"} {
		if bytes.Contains(data, []byte(trace)) {
			t.Errorf("the journal still holds %q", trace)
		}
	}
	if !bytes.Contains(data, []byte("Asha 5")) {
		t.Error("the journal holds no names at all: this test shows nothing")
	}
	want := everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if got, found := rebuilt(t, k.journal, nil); !reflect.DeepEqual(want, got) || found.Erased != 2 {
		t.Errorf("the rebuilt store differs, %+v", found)
	}
}

func TestAJournalThatIsNotTheStoresIsRefused(t *testing.T) {
	a, b := newKept(t), newKept(t)
	old := copyAfter(t, a, 5)
	if err := a.open(t).Close(); err != nil {
		t.Fatal(err)
	}
	if err := b.open(t).Close(); err != nil {
		t.Fatal(err)
	}
	for name, k := range map[string]kept{
		"another store's":               {a.store, b.journal},
		"the store was made anew":       {filepath.Join(t.TempDir(), "new.db"), a.journal},
		"the store is an older copy":    {old, a.journal},
		"a file that is something else": {a.store, a.store},
	} {
		if s, err := bolt.Open(k.store, bolt.Options{Journal: k.journal}); err == nil {
			s.Close()
			t.Errorf("%s: opened", name)
		} else if !errors.Is(err, bolt.ErrJournal) && !errors.Is(err, bolt.ErrForeign) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// copyAfter fills a store and returns a copy of it as it was before the end.
func copyAfter(t *testing.T, k kept, n int) (path string) {
	t.Helper()
	s := k.open(t)
	work(t, s, 0, n)
	path = filepath.Join(t.TempDir(), "old.db")
	if err := s.BackupFile(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	work(t, s, n, 2*n)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAJournalThatComesLaterOrIsMovedAwayIsWrittenWhole(t *testing.T) {
	k := newKept(t)
	s, err := bolt.Open(k.store, bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	work(t, s, 0, 25)
	want := everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := k.open(t).Close(); err != nil {
			t.Fatal(err)
		}
		if got, _ := rebuilt(t, k.journal, nil); !reflect.DeepEqual(want, got) {
			t.Error("the journal does not hold what was there before it")
		}
		if err := os.Remove(k.journal); err != nil {
			t.Fatal(err)
		}
	}
}

func TestRebuildRefusesToReplaceAStore(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 3)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(k.journal)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := bolt.Rebuild(t.Context(), k.store, nil, f, false); !errors.Is(err, os.ErrExist) {
		t.Errorf("got %v", err)
	}
	if _, err := bolt.Rebuild(t.Context(), k.store, nil, f, true); err != nil {
		t.Error(err)
	}
}

// Whatever is broken in the file, a rebuild ends without a panic, and leaves a
// sound store or none.
func TestARebuildFromABrokenJournal(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 2))
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 10)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(k.journal)
	if err != nil {
		t.Fatal(err)
	}
	for range 30 {
		broken := bytes.Clone(whole[:random.IntN(len(whole))])
		for range random.IntN(4) {
			if len(broken) > 0 {
				broken[random.IntN(len(broken))] ^= 1 << random.IntN(8)
			}
		}
		if err := os.WriteFile(k.journal, broken, 0o600); err != nil {
			t.Fatal(err)
		}
		rebuildBroken(t, k.journal)
	}
}

func rebuildBroken(t *testing.T, journal string) {
	t.Helper()
	file, err := os.Open(journal)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	out := filepath.Join(t.TempDir(), "store.db")
	if _, err := bolt.Rebuild(t.Context(), out, nil, file, false); err != nil {
		if _, err := os.Stat(out); err == nil {
			t.Error("a rebuild that failed left a store")
		}
		return
	}
	if err := bolt.VerifyFile(t.Context(), out); err != nil {
		t.Error(err)
	}
}
