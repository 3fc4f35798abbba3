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

// What a phone may send in a day begins nothing anew with another start of the
// program, another gateway over the same store, or an hour of rest.
func TestWhatAPhoneMaySendADaySurvivesARestart(t *testing.T) {
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, Read: carrier.ReadConfig{From: "form:from", Text: "form:text", Message: "form:id"},
		Reply: carrier.ReplyConfig{Body: "{{.Text}}"}, Guard: carrier.GuardConfig{Open: true},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	store, clock, machine := openStore(t), &clock{now: start}, dialogue(t)
	say := func(phone string, id int) int {
		g := newGateway(t, func(cfg *gateway.Config) { // a start
			cfg.Store, cfg.Step, cfg.Now = store, machine.Step, clock.Now
			cfg.Limits = gateway.Limits{PerDay: 8}
			cfg.Inlets = []gateway.Inlet{gateway.InletOf(c)}
		})
		form := url.Values{"from": {phone}, "text": {fmt.Sprint("hello ", id)}, "id": {fmt.Sprint(id)}}
		r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return answer(g, r).Code
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
