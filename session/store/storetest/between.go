package storetest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"threshline/session"
)

// A gateway may know how a phone stood when it served it last. What another gateway
// did since counts all the same.
var betweenCases = []sharedCase{
	{"a phone that two gateways serve is answered as it stands", takesTurns},
	{"a person whom the other gateway changed is seen as they are", changedElsewhere},
	{"a phone that passed to another person at the other gateway is theirs", passedElsewhere},
	{"what the other gateway answered is not answered again", answeredElsewhere},
	{"who was forgotten at the other gateway is unknown", forgottenElsewhere},
	{"a dialogue that the other gateway swept begins anew", sweptElsewhere},
	{"a turn that writes nothing sees what the other gateway wrote", readsElsewhere},
	{"a turn fails by what the other gateway wrote, and by nothing older", failsElsewhere},
}

// greets counts the dialogue's page up and answers with it and the person's name.
func greets(phone session.Phone) session.Turn {
	return func(v session.View) (session.Writes, error) {
		name := "nobody"
		p, err := v.PersonByPhone(phone)
		if err == nil {
			name = p.Name
		} else if !errors.Is(err, session.ErrNotFound) {
			return session.Writes{}, err
		}
		w, err := count(phone, "")(v)
		if err == nil {
			w.Reply.Text = fmt.Sprint(name, " ", w.Dialogue.Page)
		}
		return w, err
	}
}

func messageKey(phone session.Phone, n int) session.Key {
	return session.Key{Phone: phone, Duplicate: fmt.Sprintf("valley-ussd|%s|%d", string(phone), n), KeepUntil: Begin.Add(time.Hour)}
}

// hears has a phone's n-th message answered for the first time.
func hears(t *testing.T, e Engine, phone session.Phone, n int, want string) {
	t.Helper()
	got, err := e.Exchange(ctx, messageKey(phone, n), greets(phone))
	if err != nil || got.Reply.Text != want || got.Duplicate || got.Runs != 1 {
		t.Fatalf("message %d: %+v, %v, want %q by one run", n, got, err, want)
	}
}

func takesTurns(t *testing.T, a, b Shared) {
	put(t, a, session.Writes{People: []session.Person{Person(1)}})
	for n, e := range []Shared{a, a, b, b, a, b, a, a, b} {
		hears(t, e, Phone(1), n, fmt.Sprint("Grower 1 ", n+1))
	}
}

func changedElsewhere(t *testing.T, a, b Shared) {
	p := Person(1)
	put(t, a, session.Writes{People: []session.Person{p}})
	hears(t, a, Phone(1), 1, "Grower 1 1")
	hears(t, a, Phone(2), 1, "nobody 1")
	p.Version, p.Name = 1, "Juma"
	put(t, b, session.Writes{People: []session.Person{p, Person(2)}})
	hears(t, a, Phone(1), 2, "Juma 2")
	hears(t, a, Phone(2), 2, "Grower 2 2")
}

func passedElsewhere(t *testing.T, a, b Shared) {
	put(t, a, session.Writes{People: []session.Person{Person(1)}})
	hears(t, a, Phone(1), 1, "Grower 1 1")
	was, is := Person(1), Person(2)
	was.Version, was.Phone, is.Phone = 1, "", Phone(1) // both persons' phone was of version 1
	put(t, b, session.Writes{People: []session.Person{is, was}})
	hears(t, a, Phone(1), 2, "Grower 2 2")
	hears(t, a, Phone(1), 3, "Grower 2 3")
	is.Version, is.Phone = 1, ""
	put(t, b, session.Writes{People: []session.Person{is}})
	hears(t, a, Phone(1), 4, "nobody 4")
}

func answeredElsewhere(t *testing.T, a, b Shared) {
	hears(t, a, Phone(1), 1, "nobody 1")
	key := messageKey(Phone(1), 2)
	if _, err := b.Exchange(ctx, key, says("an answer that leaves the dialogue")); err != nil {
		t.Fatal(err)
	}
	got, err := a.Exchange(ctx, key, greets(Phone(1)))
	want := session.Outcome{Reply: session.Reply{Text: "an answer that leaves the dialogue"}, Duplicate: true, Until: key.KeepUntil}
	if diff := cmp.Diff(want, got); diff != "" || err != nil {
		t.Errorf("delivered to the other gateway: %v (-want +got):\n%s", err, diff)
	}
	hears(t, a, Phone(1), 3, "nobody 2")
}

func forgottenElsewhere(t *testing.T, a, b Shared) {
	lead := func(e Engine, says string) (was string) {
		t.Helper()
		if _, err := e.Exchange(ctx, session.Key{Phone: Phone(2)}, func(v session.View) (w session.Writes, err error) {
			d, err := v.Dialogue(Phone(2))
			was, d.Memo.Lead = d.Memo.Lead, says
			return session.Writes{Dialogue: &d}, err
		}); err != nil {
			t.Fatal(err)
		}
		return was
	}
	hears(t, a, asha.Phone, 1, "nobody 1")
	lead(a, "Lot of Asha, 8 bags")
	leave(t, b)
	hears(t, a, asha.Phone, 2, "nobody 1")
	if was := lead(a, ""); was != "Lot of ***, 8 bags" {
		t.Errorf("the agent's dialogue holds %q", was)
	}
}

func sweptElsewhere(t *testing.T, a, b Shared) {
	talk(t, a, 1, Begin)
	if _, err := b.Sweep(ctx, Begin.Add(time.Hour), 10); err != nil {
		t.Fatal(err)
	}
	hears(t, a, Phone(1), 1, "nobody 1")
}

func readsElsewhere(t *testing.T, a, b Shared) {
	p := Person(1)
	put(t, a, session.Writes{People: []session.Person{p}})
	hears(t, a, Phone(1), 1, "Grower 1 1")
	p.Version, p.Name = 1, "Juma"
	put(t, b, session.Writes{People: []session.Person{p}})
	hears(t, b, Phone(1), 2, "Juma 2")
	got, err := a.Exchange(ctx, session.Key{Phone: Phone(1)}, func(v session.View) (session.Writes, error) {
		w, err := greets(Phone(1))(v)
		return session.Writes{Reply: w.Reply}, err
	})
	if err != nil || got.Reply.Text != "Juma 3" || got.Runs != 1 {
		t.Errorf("read %+v, %v", got, err)
	}
}

func failsElsewhere(t *testing.T, a, b Shared) {
	broken := errors.New("broken turn")
	failing := func(page int) session.Turn {
		return func(v session.View) (session.Writes, error) {
			w, err := greets(Phone(1))(v)
			if err == nil && w.Dialogue.Page == page {
				err = broken
			}
			return w, err
		}
	}
	hears(t, a, Phone(1), 1, "nobody 1")
	hears(t, b, Phone(1), 2, "nobody 2")
	if got, err := a.Exchange(ctx, messageKey(Phone(1), 3), failing(2)); err != nil || got.Reply.Text != "nobody 3" {
		t.Errorf("%+v, %v: the turn failed by what is over", got, err)
	}
	hears(t, b, Phone(1), 4, "nobody 4")
	_, err := a.Exchange(ctx, messageKey(Phone(1), 5), failing(5))
	wantErr(t, "the turn that fails by what is", err, broken)
}
