package storetest

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"threshline/session"
)

var forgetCases = []testCase{
	{"who is forgotten leaves no dialogue, words, message or reminder", forgetsAll},
	{"an answer under way to who is forgotten still goes out, and is erased then", forgetsSent},
	{"an answer that a clock years ahead has left to who is forgotten goes with them", forgetsFarOff},
	{"the name of who is forgotten is taken out of others' texts", forgetsName},
	{"a name that is taken out of a message on its way does not come back with what became of it", forgetsUnderway},
	{"a name is not taken out of another's", forgetsWhole},
	{"what belongs to others stays as it was", forgetsNobodyElse},
}

// asha is who is forgotten; the agent knows her.
var asha = session.Trace{Person: PersonID(1), Phone: Phone(1), Name: "Asha", Now: Begin}

// farewell is the turn in which Asha leaves.
func farewell(v session.View) (w session.Writes, err error) {
	d, err := v.Dialogue(asha.Phone)
	if err != nil {
		return w, err
	}
	w.Dialogue = &session.Dialogue{Phone: asha.Phone, Version: d.Version, Current: -1}
	w.Forget = []session.Trace{asha}
	w.Outgoing = []session.Outgoing{message(90, asha.Phone, session.Answer, "You are forgotten.")}
	w.Reply = session.Reply{Text: "You are forgotten."}
	return w, nil
}

var farewellKey = session.Key{Phone: asha.Phone, Duplicate: "valley-ussd|" + string(asha.Phone) + "|last", KeepUntil: Begin.Add(time.Hour)}

func leave(t *testing.T, e Engine) {
	t.Helper()
	must(e.Exchange(ctx, farewellKey, farewell))(t)
}

func message(i int, to session.Phone, purpose session.Purpose, text string) session.Outgoing {
	o := Outgoing(i)
	o.To, o.Purpose, o.Text = to, purpose, text
	return o
}

// chatter has a phone talk so often that its answers lie wherever an engine keeps
// any, and returns the keys.
func chatter(t *testing.T, e Engine, phone session.Phone, says string) (keys []session.Key) {
	t.Helper()
	for i := range 20 {
		key := session.Key{Phone: phone, Duplicate: fmt.Sprintf("valley-ussd|%s|%d", string(phone), i), KeepUntil: Begin.Add(time.Hour)}
		turn := func(v session.View) (session.Writes, error) {
			w, err := count(phone, says)(v)
			w.Dialogue.Memo.Lead = says
			return w, err
		}
		must(e.Exchange(ctx, key, turn))(t)
		keys = append(keys, key)
	}
	return keys
}

func forgetsAll(t *testing.T, e Engine) {
	keys := chatter(t, e, asha.Phone, "Welcome, Asha")
	put(t, e, session.Writes{
		Outgoing: []session.Outgoing{message(1, asha.Phone, session.Reminding, "Is it dry?"), message(2, asha.Phone, session.Digest, "Your week")},
		Reminders: []session.Reminder{
			{ID: "recheck:a", Due: Begin, Person: asha.Person}, {ID: "recheck:b", Due: Begin, Person: PersonID(2), Phone: asha.Phone},
		},
	})
	leave(t, e)
	if d := dialogue(t, e, asha.Phone); d.Version != 0 {
		t.Errorf("the dialogue is still there: %+v", d)
	}
	if due, err := e.Due(ctx, Begin, 9); err != nil || len(due) != 0 {
		t.Errorf("reminders are left: %+v, %v", due, err)
	}
	sent := must(e.Sent(ctx, session.Outgoing{}, 9))(t)
	same(t, "messages", []string{string(Outgoing(90).ID)}, ids(sent))
	for _, key := range keys {
		out, err := e.Exchange(ctx, key, says("Who are you?"))
		if want := (session.Reply{Silent: true}); err != nil || !out.Duplicate || out.Reply != want {
			t.Fatalf("%s is answered %+v, %v", key.Duplicate, out, err)
		}
	}
	out, err := e.Exchange(ctx, farewellKey, says("Who are you?"))
	if err != nil || !out.Duplicate || out.Reply.Text != "You are forgotten." {
		t.Errorf("the last message, delivered again, is answered %+v, %v", out, err)
	}
}

func forgetsSent(t *testing.T, e Engine) {
	put(t, e, session.Writes{Outgoing: []session.Outgoing{
		message(1, asha.Phone, session.Safety, "Do not eat it."), message(2, asha.Phone, session.Answer, "Grade II"), message(3, asha.Phone, session.Alert, "Mould"),
	}})
	for _, o := range claim(t, e, Begin.Add(time.Minute), 9, time.Minute)[1:] {
		o.State, o.Changed = session.HandedOn, Begin.Add(time.Minute)
		settle(t, e, o)
	}
	held := claim(t, e, Begin.Add(3*time.Minute), 9, time.Minute)
	leave(t, e)
	sent, err := e.Sent(ctx, session.Outgoing{}, 9)
	if err != nil || len(sent) != 4 {
		t.Fatalf("%d messages, %v", len(sent), err)
	}
	for _, o := range sent {
		if waits := o.State == session.Queued; waits != (o.To == asha.Phone) || waits != (o.Text != "") || o.Segments != 1 {
			t.Errorf("%s holds %q to %q as %s", o.ID, o.Text, string(o.To), o.State)
		}
	}
	for _, o := range append(held, claim(t, e, Begin.Add(5*time.Minute), 9, time.Minute)...) {
		if o.To != asha.Phone || o.Text == "" {
			t.Errorf("%s cannot be sent any more: %+v", o.ID, o)
		}
		o.Erase = false // whoever claimed it before knows nothing of it
		o.State = session.HandedOn
		if err := e.Settle(ctx, o); err != nil {
			t.Logf("%s: %v", o.ID, err)
		}
	}
	if sent, err = e.Sent(ctx, session.Outgoing{}, 9); err != nil {
		t.Fatal(err)
	}
	for _, o := range sent {
		if o.To != "" || o.Text != "" || o.State != session.HandedOn {
			t.Errorf("%s still holds %q to %q as %s", o.ID, o.Text, string(o.To), o.State)
		}
	}
}

func forgetsFarOff(t *testing.T, e Engine) {
	far := message(1, asha.Phone, session.Answer, "Grade II")
	far.Created, far.Due, far.Expires = far.Created.AddDate(4, 0, 0), far.Due.AddDate(4, 0, 0), far.Due.AddDate(4, 0, 1)
	put(t, e, session.Writes{Outgoing: []session.Outgoing{far, message(2, asha.Phone, session.Answer, "Grade III")}})
	leave(t, e)
	left := sentTo(t, e, asha.Phone)
	if slices.ContainsFunc(left, func(o session.Outgoing) bool { return o.ID == far.ID }) || len(left) != 2 {
		t.Errorf("there are left %+v", left)
	}
}

func forgetsName(t *testing.T, e Engine) {
	keys := chatter(t, e, Phone(2), "Lot of Asha, 8 bags")
	put(t, e, session.Writes{Outgoing: []session.Outgoing{message(1, Phone(3), session.Alert, "Mould: slip S000001, of Asha. Do not eat it.")}})
	before := dialogue(t, e, Phone(2)).Version
	leave(t, e)
	if d := dialogue(t, e, Phone(2)); d.Memo.Lead != "Lot of ***, 8 bags" || d.Version == before {
		t.Errorf("the agent's dialogue holds %q, version %d after %d", d.Memo.Lead, d.Version, before)
	}
	for _, key := range keys {
		out, err := e.Exchange(ctx, key, says("anew"))
		if err != nil || !out.Duplicate || out.Reply.Text != "Lot of ***, 8 bags" {
			t.Fatalf("%s is answered %+v, %v", key.Duplicate, out, err)
		}
	}
	alert := claim(t, e, Begin.Add(time.Minute), 1, time.Minute)
	if len(alert) != 1 || alert[0].Text != "Mould: slip S000001, of ***. Do not eat it." || alert[0].To != Phone(3) {
		t.Errorf("the alert is %+v", alert)
	}
}

func forgetsUnderway(t *testing.T, e Engine) {
	put(t, e, session.Writes{Outgoing: []session.Outgoing{message(1, Phone(3), session.Alert, "Mould: of Asha."), message(2, Phone(3), session.Alert, "Warm: of Asha.")}})
	for i, o := range claim(t, e, Begin.Add(time.Minute), 2, time.Minute) {
		if i == 0 {
			leave(t, e)
		}
		if o.Changed = Begin.Add(time.Minute); i == 0 {
			o.State, o.CarrierID = session.HandedOn, "c-1"
		} else {
			o.State, o.Due = session.Queued, Begin.Add(time.Hour)
		}
		settle(t, e, o)
	}
	for _, o := range sentTo(t, e, Phone(3)) {
		if o.Text != "Mould: of ***." && o.Text != "Warm: of ***." || o.State == session.Queued != (o.CarrierID == "") {
			t.Errorf("%s is %+v", o.ID, o)
		}
	}
}

func forgetsWhole(t *testing.T, e Engine) {
	const text = "Ashanti, Asha2 and Natasha wait"
	put(t, e, session.Writes{Outgoing: []session.Outgoing{message(1, Phone(3), session.Alert, text)}})
	leave(t, e)
	sent, err := e.Sent(ctx, session.Outgoing{}, 9)
	if err != nil || len(sent) != 2 || sent[0].Text != text && sent[1].Text != text {
		t.Errorf("got %+v, %v", sent, err)
	}
}

func forgetsNobodyElse(t *testing.T, e Engine) {
	keys := chatter(t, e, Phone(11), "Welcome, Juma")
	other := message(1, Phone(11), session.Reminding, "Is it dry?")
	due := []session.Reminder{{ID: "recheck:c", Due: Begin, Person: PersonID(11), Phone: Phone(11)}}
	put(t, e, session.Writes{Outgoing: []session.Outgoing{other}, Reminders: due})
	before := dialogue(t, e, Phone(11))
	leave(t, e)
	same(t, "dialogue", before, dialogue(t, e, Phone(11)))
	left, err := e.Due(ctx, Begin, 9)
	if err != nil {
		t.Error(err)
	}
	same(t, "reminders", due, left)
	same(t, "messages", []session.Outgoing{other}, sentTo(t, e, Phone(11)))
	if out, err := e.Exchange(ctx, keys[0], says("anew")); err != nil || !out.Duplicate {
		t.Errorf("%+v, %v", out, err)
	}
}

func sentTo(t *testing.T, e Engine, phone session.Phone) (list []session.Outgoing) {
	t.Helper()
	all := must(e.Sent(ctx, session.Outgoing{}, 99))(t)
	for _, o := range all {
		if o.To == phone {
			list = append(list, o)
		}
	}
	return list
}
