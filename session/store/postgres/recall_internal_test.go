package postgres

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// A phone that this gateway served lately costs one round trip, unless its turn
// asks for more than its dialogue and its person, or something has changed.
func TestAPhoneThatWasServedLatelyTakesOneRoundTrip(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s, other := at(t, server.URL("postgres"), Options{CallersClock: true}), at(t, server.URL("postgres"), Options{CallersClock: true})
	const phone = session.Phone("+33639980001")
	me := session.Person{ID: "asha", Phone: phone, Role: session.Grower, Name: "Asha"}
	if _, err := write(other, "", session.Writes{People: []session.Person{me}}); err != nil {
		t.Fatal(err)
	}
	connect(t, s, 8) // none is new later on
	pages, name := 0, me.Name
	turn := func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(phone)
		if err != nil {
			return session.Writes{}, err
		}
		p, err := v.PersonByPhone(phone)
		d.Screen, d.Page = "menu", d.Page+1
		return session.Writes{Dialogue: &d, Reply: session.Reply{Text: fmt.Sprint(p.Name, " ", d.Page)}}, err
	}
	and := func(also func(session.View, *session.Writes) error) session.Turn {
		return func(v session.View) (session.Writes, error) {
			w, err := turn(v)
			if err == nil {
				err = also(v, &w)
			}
			return w, err
		}
	}
	growers := and(func(v session.View, _ *session.Writes) error { _, err := v.Growers("asha"); return err })
	roster := []session.Ask{{Kind: session.AskRoster}}
	elsewhere := func(key string, turn session.Turn) {
		t.Helper()
		if _, err := other.Exchange(t.Context(), session.Key{Phone: phone, Duplicate: key, KeepUntil: storetest.Begin}, turn); err != nil {
			t.Fatal(err)
		}
	}
	made, renewed, held := s.recent.count(), false, 0
	for i, c := range []struct {
		name   string
		asks   []session.Ask
		turn   session.Turn
		before func()
		trips  int64
		stays  bool // the page does
	}{
		{name: "the first message", turn: turn, trips: 2},
		{name: "the next", turn: turn, trips: 1},
		{name: "one that might ask for more", asks: roster, turn: turn, trips: 1},
		{name: "one that asks for the person themselves", turn: and(func(v session.View, w *session.Writes) error {
			p, err := v.Person("asha")
			w.Reply.Text = strings.Replace(w.Reply.Text, p.Name, "Asha", 1)
			return err
		}), trips: 1},
		{name: "one that asks for more", asks: roster, turn: growers, trips: 2},
		{name: "one that asks what nobody foresaw", turn: growers, trips: 3},
		{name: "one that files a check", turn: and(func(_ session.View, w *session.Writes) error {
			w.Checks = []session.Check{storetest.Check(1, "asha", "asha")}
			return nil
		}), trips: 1},
		{name: "one that changes the person", turn: and(func(v session.View, w *session.Writes) error {
			p, err := v.PersonByPhone(phone)
			p.Name, name = "Asha Said", "Asha Said"
			w.People = []session.Person{p}
			return err
		}), trips: 1},
		{name: "one after the person was changed here", turn: turn, trips: 1},
		{name: "one that only reads", turn: func(v session.View) (session.Writes, error) {
			w, err := turn(v)
			return session.Writes{Reply: w.Reply}, err
		}, trips: 1, stays: true},
		{name: "one after that", turn: turn, trips: 2},
		{name: "one after the dialogue was changed elsewhere", before: func() { elsewhere("elsewhere 1", turn); pages++ }, turn: turn, trips: 3},
		{name: "one after the person was changed elsewhere", before: func() {
			elsewhere("elsewhere 2", func(v session.View) (session.Writes, error) {
				p, err := v.PersonByPhone(phone)
				p.Name, name = "Asha Juma", "Asha Juma"
				return session.Writes{People: []session.Person{p}}, err
			})
		}, turn: turn, trips: 3},
	} {
		if c.before != nil {
			c.before()
		}
		key := session.Key{Phone: phone, Asks: c.asks}
		if !c.stays {
			key.Duplicate, key.KeepUntil = fmt.Sprint("message ", i), storetest.Begin
		}
		want, before := fmt.Sprint(name, " ", pages+1), s.Rounds()
		if out, err := s.Exchange(t.Context(), key, c.turn); err != nil || out.Reply.Text != want || out.Runs != 1 {
			t.Fatalf("%s: %+v, %v, want %s by one run", c.name, out, err, want)
		}
		if !c.stays {
			pages++
		}
		// A connection that is made lets go what is known, also for the next message.
		trips, now := s.Rounds()-before, s.recent.count()
		if now != made || renewed {
			renewed, made = now != made, now
		} else if held++; trips != c.trips {
			t.Errorf("%s takes %d round trips, want %d", c.name, trips, c.trips)
		}
	}
	if held == 0 {
		t.Error("connections were made all the time")
	}
	s.pool.Reset()
	before := s.Rounds()
	if _, err := s.Exchange(t.Context(), session.Key{Phone: phone}, turn); err != nil || s.Rounds()-before != 2 {
		t.Errorf("over a new connection: %v, by %d round trips", err, s.Rounds()-before)
	}
	if _, err := write(s, string(phone), session.Writes{Forget: []session.Trace{me.Trace()}}); err != nil {
		t.Fatal(err)
	}
	if len(s.recent.young)+len(s.recent.old) > 0 {
		t.Error("something is still known when somebody was forgotten")
	}
}

// Little is known, and for a short time.
func TestWhatIsKnownOfPhonesIsLetGo(t *testing.T) {
	var r recent
	for i := range 3 * mostRecent {
		r.put(storetest.Phone(i), standing{dialogueVersion: int64(i)}, 0)
	}
	if n := len(r.young) + len(r.old); n > 2*mostRecent {
		t.Errorf("%d phones are held", n)
	}
	last := storetest.Phone(3*mostRecent - 1)
	now := time.Now()
	r.age(now)
	r.age(now.Add(recentFor - 1))
	r.put(storetest.Phone(0), standing{}, 0) // begins the younger generation
	if d, ok, _ := r.take(last); !ok || d.dialogueVersion != 3*mostRecent-1 {
		t.Errorf("the last is held as %+v, %v", d, ok)
	}
	if _, ok, _ := r.take(last); ok {
		t.Error("it was taken twice")
	}
	r.put(last, standing{}, 0)
	r.age(now.Add(recentFor))
	r.age(now.Add(2 * recentFor))
	if n := len(r.young) + len(r.old); n > 0 {
		t.Errorf("%d phones are held too long", n)
	}
	r.clear()
	if r.put(last, standing{}, 0); len(r.young) > 0 {
		t.Error("an exchange that began before all was let go is held")
	}
}
