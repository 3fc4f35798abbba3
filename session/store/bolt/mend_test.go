package bolt_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/storetest"
)

// flipped is a copy of a file with some bits of one place changed.
func flipped(t *testing.T, path string, at int, mask ...byte) string {
	t.Helper()
	data := contents(t, path)
	for i, m := range mask {
		data[at+i] ^= m
	}
	to := filepath.Join(t.TempDir(), "flipped.db")
	write(t, to, data)
	return to
}

// compact is a store at rest that holds hardly a free page, and what is in it after so
// much work.
func compact(t *testing.T, much int) (small string, want all) {
	t.Helper()
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, much)
	want = everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	small = filepath.Join(t.TempDir(), "small.db")
	if err := bolt.Compact(k.store, small, nil); err != nil {
		t.Fatal(err)
	}
	return small, want
}

// Whatever bit a disk loses: a store says that it is damaged, or serves what was
// stored. It never serves anything else, and a backup of it never verifies then.
func TestALostBitIsNeverServed(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 3))
	small, want := compact(t, 60)
	length := len(contents(t, small))
	refused, mended := 0, int64(0)
	for range 60 {
		path := flipped(t, small, random.IntN(length), 1<<random.IntN(8))
		before, verified := contents(t, path), bolt.VerifyFile(t.Context(), path)
		s, err := bolt.Open(path, bolt.Options{Map: 1 << 20})
		if err != nil {
			refused++
			if verified == nil && !errors.Is(err, bolt.ErrForeign) {
				t.Fatalf("refused, but verified: %v", err)
			}
			if is := contents(t, path); !bytes.Equal(is, before) {
				t.Fatalf("refused, and written to: %v", err)
			}
			continue
		}
		mended += s.Mended()
		if got := everything(t, s); !reflect.DeepEqual(want, got) {
			t.Fatalf("verified %v, and serves something else", verified)
		}
		if err := errors.Join(s.Verify(t.Context()), s.Close()); err != nil {
			t.Error(err)
		}
	}
	t.Logf("%d of 60 refused, %d entries mended", refused, mended)
	if mended == 0 {
		t.Error("no flip was in an entry: this test shows nothing")
	}
}

// A page that lost a bit of its count would serve less than was stored.
func TestALostBitOfAPagesCountIsDamage(t *testing.T) {
	small, want := compact(t, 60)
	const pageSize, leaf, count = 4096, 2, 10
	refused := 0
	for data, page := contents(t, small), 2*pageSize; page < len(data); page += pageSize {
		if number := int(data[page]) | int(data[page+1])<<8; number != page/pageSize || data[page+8] != leaf {
			continue
		}
		for bit := range 8 {
			path := flipped(t, small, page+count, 1<<bit)
			s, err := bolt.Open(path, bolt.Options{Map: 1 << 20})
			if err != nil {
				refused++
				continue
			}
			if got := everything(t, s); !reflect.DeepEqual(want, got) { // a page that is free may say anything
				t.Errorf("bit %d of the count of page %d", bit, page/pageSize)
			}
			s.Close()
		}
	}
	if refused == 0 {
		t.Error("no page in use was tried")
	}
}

// A page's first key, or the key that leads to a page, lost a bit and is still in order:
// what is written under it later would be put in a second place. Such a file is refused
// as it is, or mended for good.
func TestALostBitOfAKeyThatLeadsToAPage(t *testing.T) {
	small, want := compact(t, 500)
	const pageSize, head, element, branch, leaf = 4096, 16, 16, 1, 2
	data := contents(t, small)
	number := func(at int) int { return int(binary.LittleEndian.Uint32(data[at:])) }
	refused := 0
	for page := 2 * pageSize; page < len(data); page += pageSize {
		kind, elements := data[page+8], int(binary.LittleEndian.Uint16(data[page+10:]))
		if number(page) != page/pageSize || elements == 0 || kind != branch && kind != leaf {
			continue
		}
		at := page + head // of the first element
		end := at + number(at+4) + number(at+8)
		if kind == branch {
			at += element * (elements - 1) // the last one
			end = at + number(at) + number(at+4)
		}
		for _, bit := range []byte{1, 4, 32} {
			path := flipped(t, small, end-1, bit)
			s, err := bolt.Open(path, bolt.Options{Map: 1 << 20})
			if err != nil {
				if refused++; !bytes.Equal(contents(t, path), contents(t, flipped(t, small, end-1, bit))) {
					t.Errorf("page %d, bit %d: refused, and written to: %v", page/pageSize, bit, err)
				}
				continue
			}
			if got := everything(t, s); !reflect.DeepEqual(want, got) {
				t.Errorf("page %d, bit %d: serves something else", page/pageSize, bit)
			}
			work(t, s, 500, 530)
			if err := errors.Join(s.Close(), bolt.VerifyFile(t.Context(), path)); err != nil {
				t.Errorf("page %d, bit %d: after more was written: %v", page/pageSize, bit, err)
			}
		}
	}
	if refused == 0 {
		t.Error("no such page was tried")
	}
}

// rottenCheck is a store at rest in which a check's readings are something else,
// and how many bytes of it.
func rottenCheck(t *testing.T, n int) (k kept, want all) {
	t.Helper()
	k = newKept(t)
	s := k.open(t)
	for i := range 5 {
		check := storetest.Check(i, "p1", "p1")
		put(t, s, session.Writes{Checks: []session.Check{check}, People: []session.Person{storetest.Person(i)}})
	}
	want = everything(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	data := contents(t, k.store)
	at := bytes.LastIndex(data, []byte("agmark-paddy"))
	if at < 0 {
		t.Fatal("no check in the file")
	}
	for i := range n {
		data[at+i] ^= 0x15
	}
	write(t, k.store, data)
	return k, want
}

func TestAChangedCheckIsMendedFromTheJournal(t *testing.T) {
	k, want := rottenCheck(t, 12)
	if err := bolt.VerifyFile(t.Context(), k.store); !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("verified with %v", err)
	}
	if _, err := bolt.Open(k.store, bolt.Options{}); !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("without the journal: %v", err)
	}
	s := k.open(t)
	defer s.Close()
	if got := everything(t, s); s.Mended() != 1 || !reflect.DeepEqual(want, got) {
		t.Errorf("%d mended, got %+v", s.Mended(), got)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

// A large store is not read before it serves: whoever meets the damage is told
// to come again, and finds it mended. So does a backup.
func TestAServingStoreMendsWhatItMeets(t *testing.T) {
	for name, meet := range map[string]func(*bolt.Store) error{
		"read":     func(s *bolt.Store) error { _, err := s.Filed(t.Context(), 0, 9); return err },
		"exchange": func(s *bolt.Store) error { return correctFirst(t, s) },
		"inspect":  func(s *bolt.Store) error { return s.Inspect(t.Context(), nil) },
		"backup": func(s *bolt.Store) error {
			return s.BackupFile(t.Context(), filepath.Join(t.TempDir(), "backup.db"))
		},
	} {
		t.Run(name, func(t *testing.T) {
			k, want := rottenCheck(t, 12)
			s, err := bolt.Open(k.store, bolt.Options{Journal: k.journal, Inspect: 1})
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			if err := meet(s); err != nil && !errors.Is(err, session.ErrConflict) {
				t.Error(err)
			}
			if s.Mended() != 1 {
				t.Errorf("%d mended", s.Mended())
			}
			if got := everything(t, s); !reflect.DeepEqual(want, got) {
				t.Errorf("got %+v", got)
			}
			if s.Healthy() != nil {
				t.Error(s.Healthy())
			}
		})
	}
}

// correctFirst reads the rotten check in an exchange.
func correctFirst(t *testing.T, s *bolt.Store) error {
	_, err := s.Exchange(t.Context(), session.Key{}, func(v session.View) (session.Writes, error) {
		list, err := v.ChecksOf("p1", 9)
		if err == nil && len(list) != 5 {
			t.Errorf("%d checks", len(list))
		}
		return session.Writes{}, err
	})
	return err
}

func TestARottenBackupIsMendedFromTheJournal(t *testing.T) {
	k, want := rottenCheck(t, 12)
	file, err := os.Open(k.journal)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	backup := contents(t, k.store)
	if err := bolt.Restore(t.Context(), filepath.Join(t.TempDir(), "r.db"), bytes.NewReader(backup), false); !errors.Is(err, bolt.ErrDamaged) {
		t.Errorf("restored with %v", err)
	}
	got, _ := rebuilt(t, k.journal, backup)
	if !reflect.DeepEqual(want, got) {
		t.Errorf("got %+v", got)
	}
}
