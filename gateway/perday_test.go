package gateway_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/session"
)

// texts is a channel of SMS that answers at once.
func texts(t *testing.T) gateway.Inlet {
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, Read: carrier.ReadConfig{From: "form:from", Text: "form:text", Message: "form:id"},
		Reply: carrier.ReplyConfig{Body: "{{.Text}}"}, Guard: carrier.GuardConfig{Open: true},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	return gateway.InletOf(c)
}

// text makes a request to it.
func text(phone, said string, id int) *http.Request {
	form := url.Values{"from": {phone}, "text": {said}, "id": {fmt.Sprint(id)}}
	r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

// What a phone may send in a day begins nothing anew with another start of the
// program, another gateway over the same store, or an hour of rest.
func TestWhatAPhoneMaySendADaySurvivesARestart(t *testing.T) {
	store, clock, machine := openStore(t), &clock{now: start}, dialogue(t)
	say := func(phone string, id int) int {
		g := newGateway(t, func(cfg *gateway.Config) { // a start
			cfg.Store, cfg.Step, cfg.Now = store, machine.Step, clock.Now
			cfg.Limits = gateway.Limits{PerDay: 8}
			cfg.Inlets = []gateway.Inlet{texts(t)}
		})
		return answer(g, text(phone, fmt.Sprint("hello ", id), id)).Code
	}
	const phone = "+33639980001"
	for id := range 8 {
		if code := say(phone, id); code != http.StatusOK {
			t.Fatalf("message %d was answered %d", id+1, code)
		}
	}
	if code := say(phone, 7); code != http.StatusOK {
		t.Errorf("a message that comes again was answered %d", code)
	}
	clock.add(2 * time.Hour)
	if _, err := store.Sweep(t.Context(), clock.Now(), 100); err != nil {
		t.Fatal(err)
	}
	if code := say(phone, 8); code != http.StatusTooManyRequests {
		t.Errorf("the ninth message of the day was answered %d", code)
	}
	if code := say("+33639980002", 1); code != http.StatusOK {
		t.Errorf("another phone was answered %d", code)
	}
	clock.add(22 * time.Hour)
	if code := say(phone, 9); code != http.StatusOK {
		t.Errorf("the next day was answered %d", code)
	}
}

// Whoever leaves and comes back has said as much that day as before, and has
// guessed as many codes.
func TestLeavingBeginsNoDayAnew(t *testing.T) {
	store, clock, machine := openStore(t), &clock{now: start}, dialogue(t)
	const phone = "+33639980001"
	person := session.Person{ID: "g", Phone: phone, Role: session.Grower, Name: "Asha", Language: "en", Consent: session.Consent{Version: 1, Given: true}}
	known := func(session.View) (session.Writes, error) {
		return session.Writes{People: []session.Person{person}, Dialogue: &session.Dialogue{Phone: phone, Current: -1, WrongCodes: 4, CodesSince: start}}, nil
	}
	if _, err := store.Exchange(t.Context(), session.Key{}, known); err != nil {
		t.Fatal(err)
	}
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Step, cfg.Now = store, machine.Step, clock.Now
		cfg.Limits = gateway.Limits{PerDay: 6}
		cfg.Inlets = []gateway.Inlet{texts(t)}
	})
	id := 0
	say := func(said string) (int, string) {
		clock.add(time.Minute)
		id++
		w := answer(g, text(phone, said, id))
		return w.Code, w.Body.String()
	}
	for _, text := range []string{"forget me", "1"} {
		if code, body := say(text); code != http.StatusOK {
			t.Fatalf("%q was answered %d %q", text, code, body)
		}
	}
	var d session.Dialogue
	look := func(v session.View) (w session.Writes, err error) {
		w.Reply.Silent = true
		d, err = v.Dialogue(phone)
		return w, err
	}
	if _, err := store.Exchange(t.Context(), session.Key{}, look); err != nil || d.Heard != 0 || d.WrongCodes != 0 || d.Version != 0 {
		t.Fatalf("after leaving the store holds %+v, %v", d, err)
	}
	for i := range 4 {
		if code, body := say("hello"); code != http.StatusOK {
			t.Fatalf("message %d after coming back was answered %d %q", i+1, code, body)
		}
	}
	if _, err := store.Exchange(t.Context(), session.Key{}, look); err != nil || d.WrongCodes != 4 {
		t.Errorf("who came back has %d wrong codes, %v: there were 4", d.WrongCodes, err)
	}
	if code, body := say("hello"); code != http.StatusTooManyRequests {
		t.Errorf("the seventh message of the day was answered %d %q", code, body)
	}
	clock.add(24 * time.Hour)
	if code, body := say("hello"); code != http.StatusOK {
		t.Errorf("the next day was answered %d %q", code, body)
	}
}
