package bolt_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
)

// whoLeaves is somebody with a name and number of their own.
var whoLeaves = session.Trace{Person: "p-leaves", Phone: "+33639987654", Name: "Zawadiki"}

// known fills a store in which somebody is known, and named to others.
func known(t *testing.T, s *bolt.Store) {
	t.Helper()
	at := time.Unix(1_800_000_000, 0).UTC()
	put(t, s, session.Writes{
		People:    []session.Person{{ID: whoLeaves.Person, Phone: whoLeaves.Phone, Name: whoLeaves.Name, Village: "Weir"}},
		Reminders: []session.Reminder{{ID: "r", Due: at, Person: whoLeaves.Person, Phone: whoLeaves.Phone}},
	})
	for i := range 300 {
		phone := session.Phone(fmt.Sprintf("+3363998%04d", i%7))
		if i%3 == 0 {
			phone = whoLeaves.Phone
		}
		key := session.Key{Phone: phone, Duplicate: fmt.Sprintf("valley-ussd|%s|%d", string(phone), i), KeepUntil: at.Add(time.Hour)}
		turn := func(v session.View) (w session.Writes, err error) {
			d, err := v.Dialogue(phone)
			d.Phone, d.Screen, d.Expires = phone, "main", at.Add(24*time.Hour)
			w.Dialogue, w.Reply.Text = &d, "Lot of "+whoLeaves.Name
			w.Outgoing = []session.Outgoing{{ID: session.OutgoingID(fmt.Sprint("m-", i)), To: phone, Text: "Mould, of " + whoLeaves.Name + ".", Purpose: session.Alert, Created: at, Due: at}}
			return w, err
		}
		if _, err := s.Exchange(t.Context(), key, turn); err != nil {
			t.Fatal(err)
		}
	}
}

func letGo(t *testing.T, s *bolt.Store) {
	t.Helper()
	turn := func(v session.View) (w session.Writes, err error) {
		p, err := v.Person(whoLeaves.Person)
		w.People, w.Forget = []session.Person{p.Anonymous()}, []session.Trace{whoLeaves}
		return w, err
	}
	if _, err := s.Exchange(t.Context(), session.Key{Phone: whoLeaves.Phone, Duplicate: "valley-ussd|" + string(whoLeaves.Phone) + "|last"}, turn); err != nil {
		t.Fatal(err)
	}
}

// traces counts name and number in the raw bytes of a file.
func traces(t *testing.T, path string) int {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return bytes.Count(data, []byte(whoLeaves.Name)) + bytes.Count(data, []byte(whoLeaves.Phone))
}

// What is forgotten is in no new backup, not in the journal, and, when the free
// room was written over, nowhere in the file: neither while the store serves nor
// at rest.
func TestNothingIsLeftOfWhoWasForgotten(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	work(t, s, 0, 200)
	known(t, s)
	if n := traces(t, k.store); n < 300 {
		t.Fatalf("only %d traces before: this test shows nothing", n)
	}
	letGo(t, s)
	backup := filepath.Join(t.TempDir(), "backup.db")
	if err := s.BackupFile(t.Context(), backup); err != nil {
		t.Fatal(err)
	}
	if n := traces(t, backup); n != 0 {
		t.Errorf("%d traces in a new backup", n)
	}
	if n := traces(t, k.journal); n != 0 {
		t.Errorf("%d traces in the journal", n)
	}
	if n := traces(t, k.store); n == 0 {
		t.Error("none in the store before it is scrubbed: this test shows nothing")
	}
	want := everything(t, s)
	for range 2 { // there is something to do at once, and nothing the next time
		done, err := s.Scrub(t.Context(), func(done, of int64) {
			if done > of {
				t.Errorf("%d of %d", done, of)
			}
		})
		if err != nil || done.Cleared == 0 || done.Left != 0 {
			t.Errorf("scrubbed %+v, %v", done, err)
		}
		if n := traces(t, k.store); n != 0 {
			t.Errorf("%d traces in the store", n)
		}
	}
	if got := everything(t, s); !reflect.DeepEqual(want, got) {
		t.Error("the store holds something else")
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	small := filepath.Join(t.TempDir(), "small.db")
	if err := bolt.Compact(k.store, small, nil); err != nil {
		t.Fatal(err)
	}
	if n := traces(t, small) + traces(t, k.store); n != 0 {
		t.Errorf("%d traces at rest", n)
	}
	if err := bolt.VerifyFile(t.Context(), small); err != nil {
		t.Error(err)
	}
}

// Whoever writes meanwhile is not in the way, nor waits for long: many slices.
func TestScrubbingWhileOthersWrite(t *testing.T) {
	k := newKept(t)
	s := k.open(t)
	defer s.Close()
	known(t, s)
	large := []session.ScreenID{session.ScreenID(strings.Repeat("x", 120_000))}
	for _, trail := range [][]session.ScreenID{large, nil} { // some 18 MB, freed again: several slices
		for i := range 150 {
			phone := session.Phone(fmt.Sprint("+4477009", i))
			if _, err := s.Exchange(t.Context(), session.Key{Phone: phone}, func(v session.View) (session.Writes, error) {
				d, err := v.Dialogue(phone)
				d.Trail, d.Screen = trail, ""
				if trail != nil {
					d.Screen = "main"
				}
				return session.Writes{Dialogue: &d}, err
			}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, free := s.Size(); free < 10<<20 {
		t.Fatalf("%d bytes are free: this test shows little", free)
	}
	letGo(t, s)
	stop := make(chan struct{})
	wrote := make(chan int)
	go func() {
		n := 0
		for ; ; n++ {
			select {
			case <-stop:
				wrote <- n
				return
			default:
				file(t, s, 1000+n)
			}
		}
	}()
	if _, err := s.Scrub(t.Context(), nil); err != nil {
		t.Error(err)
	}
	close(stop)
	if n := <-wrote; n == 0 {
		t.Error("nobody could write")
	}
	if n := traces(t, k.store); n != 0 {
		t.Errorf("%d traces in the store", n)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}
