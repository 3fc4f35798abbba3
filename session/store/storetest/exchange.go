package storetest

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"threshline/session"
)

var exchangeCases = []testCase{
	{"everything a turn writes is there afterwards", everything},
	{"a message delivered again gets the stored reply and changes nothing", again},
	{"a message delivered twice at once is applied once", twiceAtOnce},
	{"without a duplicate key every delivery counts", noKey},
	{"a reply alone is remembered under its duplicate key", replyAlone},
	{"no dialogue in the writes leaves it as it is", leavesDialogue},
	{"a failing turn changes nothing and is told apart", failingTurn},
	{"a failing turn does not fail its neighbours", neighbours},
	{"a cancelled context changes nothing", cancelled},
	{"what a turn keeps or changes of a record changes nothing stored", noSharing},
	{"what cannot be stored is refused whole", refused},
}

func everything(t *testing.T, e Engine) {
	d, p, k := Dialogue(Phone(1)), Person(1), Check(1, PersonID(1), PersonID(1))
	i := session.Invite{Code: "K7Q2", Role: session.Agent, District: "Kisima", Agent: PersonID(2), Expires: Begin}
	w := session.Writes{
		Dialogue: &d, People: []session.Person{p}, Checks: []session.Check{k}, Outgoing: []session.Outgoing{Outgoing(1)},
		Reminders: []session.Reminder{{ID: "r1", Due: Begin, Kind: "recheck", Person: p.ID, Phone: p.Phone, Slip: k.Slip}},
		Invites:   []session.Invite{i}, Notes: []session.AuditNote{{At: Begin, Who: "agent 3", Did: "joined", Subject: "p1"}},
		Reply: session.Reply{Text: "Filed.", More: true},
	}
	got := must(e.Exchange(ctx, session.Key{Phone: Phone(1), Duplicate: "valley-ussd 1", KeepUntil: Begin}, always(w)))(t)
	if diff := cmp.Diff(session.Outcome{Reply: w.Reply, Runs: 1}, got); diff != "" {
		t.Errorf("outcome (-want +got):\n%s", diff)
	}
	p.Version, k.Version, k.Position, i.Version = 1, 1, 1, 1
	read(t, e, func(v session.View) error {
		invite, err := v.Invite("K7Q2")
		if diff := cmp.Diff(i, invite); diff != "" || err != nil {
			t.Errorf("invite: %v (-want +got):\n%s", err, diff)
		}
		byPhone, err := v.PersonByPhone(Phone(1))
		if diff := cmp.Diff(p, byPhone); diff != "" || err != nil {
			t.Errorf("person by phone: %v (-want +got):\n%s", err, diff)
		}
		return nil
	})
	sameDialogue(t, d, dialogue(t, e, Phone(1)))
	same(t, "person", p, person(t, e, p.ID))
	same(t, "check", k, check(t, e, k.Slip))
	sent := must(e.Sent(ctx, session.Outgoing{}, 9))(t)
	same(t, "sent", []session.Outgoing{Outgoing(1)}, sent)
	due := must(e.Due(ctx, Begin, 9))(t)
	same(t, "due", w.Reminders, due)
	notes, next, err := e.Notes(ctx, 0, 9)
	if err != nil || next != 0 {
		t.Fatalf("notes: next %d, error %v", next, err)
	}
	same(t, "notes", w.Notes, notes)
}

func again(t *testing.T, e Engine) {
	key := session.Key{Phone: Phone(1), Duplicate: "valley-ussd 1", KeepUntil: Begin}
	for run := range 3 {
		got, err := e.Exchange(ctx, key, count(Phone(1), "first"))
		want := session.Outcome{Reply: session.Reply{Text: "first", More: true}, Duplicate: run > 0, Runs: 1}
		if run > 0 {
			want.Runs, want.Until = 0, Begin
		}
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Fatalf("delivery %d: %v (-want +got):\n%s", run+1, err, diff)
		}
	}
	if got := dialogue(t, e, Phone(1)).Page; got != 1 {
		t.Errorf("the turn counted to %d, want 1", got)
	}
	key.Duplicate = "valley-ussd 2"
	if got, err := e.Exchange(ctx, key, count(Phone(1), "second")); err != nil || got.Duplicate || got.Reply.Text != "second" {
		t.Errorf("another message: %+v, %v", got, err)
	}
}

func twiceAtOnce(t *testing.T, e Engine) {
	const deliveries = 8
	key := session.Key{Duplicate: "valley-sms 1", KeepUntil: Begin}
	ready := make(chan struct{})
	var together, done sync.WaitGroup
	together.Add(deliveries)
	outcomes := make([]session.Outcome, deliveries)
	for i := range deliveries {
		done.Go(func() {
			var first sync.Once
			turn := func(session.View) (session.Writes, error) {
				first.Do(together.Done) // every delivery runs its turn before any commits
				<-ready
				return session.Writes{
					Notes: []session.AuditNote{{Subject: "once"}}, Reply: session.Reply{Text: string(rune('a' + i))},
				}, nil
			}
			var err error
			if outcomes[i], err = e.Exchange(ctx, key, turn); err != nil {
				t.Errorf("delivery %d: %v", i, err)
			}
		})
	}
	together.Wait()
	close(ready)
	done.Wait()
	applied := 0
	for i, o := range outcomes {
		if !o.Duplicate {
			applied++
		}
		if o.Reply != outcomes[0].Reply {
			t.Errorf("delivery %d was answered %q, another %q", i, o.Reply.Text, outcomes[0].Reply.Text)
		}
	}
	notes, _, err := e.Notes(ctx, 0, 99)
	if applied != 1 || len(notes) != 1 || err != nil {
		t.Errorf("%d deliveries applied, %d notes (%v), want one of each", applied, len(notes), err)
	}
}

func noKey(t *testing.T, e Engine) {
	for range 3 {
		must(e.Exchange(ctx, session.Key{Phone: Phone(1)}, count(Phone(1), "")))(t)
	}
	if got := dialogue(t, e, Phone(1)); got.Page != 3 {
		t.Errorf("page %d, want 3", got.Page)
	}
}

func replyAlone(t *testing.T, e Engine) {
	key := session.Key{Phone: Phone(1), Duplicate: "valley-sms 9", KeepUntil: Begin}
	for _, text := range []string{"one", "two"} {
		got, err := e.Exchange(ctx, key, says(text))
		if err != nil || got.Reply.Text != "one" {
			t.Errorf("turn says %q: reply %q, %v, want the first one", text, got.Reply.Text, err)
		}
	}
}

func leavesDialogue(t *testing.T, e Engine) {
	d := Dialogue(Phone(1))
	put(t, e, session.Writes{Dialogue: &d})
	must(e.Exchange(ctx, session.Key{Phone: Phone(1), Duplicate: "x"}, says("unchanged")))(t)
	sameDialogue(t, d, dialogue(t, e, Phone(1)))
}

func failingTurn(t *testing.T, e Engine) {
	broken := errors.New("broken turn")
	key := session.Key{Phone: Phone(1), Duplicate: "d", KeepUntil: Begin}
	_, err := e.Exchange(ctx, key, func(session.View) (session.Writes, error) {
		d := Dialogue(Phone(1))
		return session.Writes{Dialogue: &d}, broken
	})
	wantErr(t, "failing turn", err, broken)
	if got := dialogue(t, e, Phone(1)); got.Version != 0 {
		t.Errorf("the failing turn's dialogue was stored: %+v", got)
	}
	if got, err := e.Exchange(ctx, key, says("ok")); err != nil || got.Duplicate {
		t.Errorf("delivered again after the failure: %+v, %v", got, err)
	}
}

func neighbours(t *testing.T, e Engine) {
	broken := errors.New("broken turn")
	var all sync.WaitGroup
	for i := range 64 {
		all.Go(func() {
			phone := Phone(i)
			switch i % 4 {
			case 0:
				_, err := e.Exchange(ctx, session.Key{Phone: phone}, func(session.View) (session.Writes, error) { return session.Writes{}, broken })
				wantErr(t, "failing turn", err, broken)
			case 1:
				_, err := e.Exchange(ctx, session.Key{Phone: phone}, always(session.Writes{People: []session.Person{{Version: 3, ID: "gone"}}}))
				wantErr(t, "turn that was overtaken", err, session.ErrConflict)
			default:
				if _, err := e.Exchange(ctx, session.Key{Phone: phone}, count(phone, "ok")); err != nil {
					t.Errorf("neighbour %d: %v", i, err)
				}
			}
		})
	}
	all.Wait()
	for i := range 64 {
		if got := alive(t, e, i); got != (i%4 >= 2) {
			t.Errorf("dialogue %d stored: %v", i, got)
		}
	}
}

func cancelled(t *testing.T, e Engine) {
	stopped, stop := context.WithCancel(ctx)
	stop()
	_, err := e.Exchange(stopped, session.Key{Phone: Phone(1)}, count(Phone(1), ""))
	wantErr(t, "exchange", err, context.Canceled)
	wantErr(t, "read", e.Read(stopped, func(session.View) error { return nil }), context.Canceled)
	_, err = e.Filed(stopped, 0, 1)
	wantErr(t, "filed", err, context.Canceled)

	during, stop := context.WithCancel(ctx)
	_, err = e.Exchange(during, session.Key{Phone: Phone(1)}, func(v session.View) (session.Writes, error) {
		stop()
		return count(Phone(1), "")(v)
	})
	wantErr(t, "exchange cancelled while its turn runs", err, context.Canceled)
	if got := dialogue(t, e, Phone(1)).Version; got != 0 {
		t.Errorf("a cancelled exchange was stored")
	}
}

func noSharing(t *testing.T, e Engine) {
	d, k := Dialogue(Phone(1)), Check(1, PersonID(1), PersonID(1))
	put(t, e, session.Writes{Dialogue: &d, Checks: []session.Check{k}})
	spoil := func(d *session.Dialogue, k *session.Check) {
		d.Trail[0], d.Recent[0] = "spoilt", 0
		d.Drafts[0].Paces[1], d.Drafts[0].Skipped[0], d.Drafts[0].Readings.Repeats[0] = 0, 0, 0
		k.Values["moisture"], k.Deciding[0], k.Paces[1] = 0, "spoilt", 0
	}
	spoil(&d, &k)
	d2, k2 := dialogue(t, e, Phone(1)), check(t, e, Slip(1))
	spoil(&d2, &k2)
	want, wantCheck := Dialogue(Phone(1)), Check(1, PersonID(1), PersonID(1))
	wantCheck.Version, wantCheck.Position = 1, 1
	sameDialogue(t, want, dialogue(t, e, Phone(1)))
	same(t, "check", wantCheck, check(t, e, Slip(1)))
}

func refused(t *testing.T, e Engine) {
	d := Dialogue(Phone(1))
	long := session.PersonID(make([]byte, 5000))
	for name, w := range map[string]session.Writes{
		"a person without an id":      {Dialogue: &d, People: []session.Person{{}}},
		"a person twice":              {Dialogue: &d, People: []session.Person{Person(1), Person(1)}},
		"a phone twice":               {Dialogue: &d, People: []session.Person{{ID: "a", Phone: "+3363998"}, {ID: "b", Phone: "+3363998"}}},
		"a check without a slip":      {Dialogue: &d, Checks: []session.Check{{}}},
		"an id that is far too long":  {Dialogue: &d, People: []session.Person{{ID: long}}},
		"an id with a zero byte":      {Dialogue: &d, People: []session.Person{{ID: "a\x00b"}}},
		"a dialogue of nobody":        {Dialogue: &session.Dialogue{}},
		"a message without an id":     {Dialogue: &d, Outgoing: []session.Outgoing{{}}},
		"a reminder without an id":    {Dialogue: &d, Reminders: []session.Reminder{{}}},
		"an invite without a code":    {Dialogue: &d, Invites: []session.Invite{{}}},
		"a check twice in one moment": {Dialogue: &d, Checks: []session.Check{Check(1, "", ""), Check(1, "", "")}},
	} {
		if _, err := e.Exchange(ctx, session.Key{}, always(w)); err == nil {
			t.Errorf("%s was stored", name)
		}
	}
	if got := dialogue(t, e, Phone(1)).Version; got != 0 {
		t.Errorf("the dialogue of a refused exchange was stored")
	}
	if err := e.Healthy(); err != nil {
		t.Errorf("a refused exchange made the engine ill: %v", err)
	}
}

// sameDialogue compares a stored dialogue with what was written: its version
// is the engine's.
func sameDialogue(t *testing.T, want, got session.Dialogue) {
	t.Helper()
	if got.Version == 0 {
		t.Error("a stored dialogue has no version")
	}
	want.Version = got.Version
	same(t, "dialogue", want, got)
}

// same compares two records. Times are compared as moments, readings by what
// was measured.
func same(t *testing.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got, compareReadings); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}
