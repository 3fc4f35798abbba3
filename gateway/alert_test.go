package gateway_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
)

// A grower's text about a wet lot comes in late in the evening; the carrier is
// given the answer, and, without waiting for the morning, the alert for the
// coordinator of the grower's district.
func TestAWetLotAlertsTheCoordinatorByTheCarrier(t *testing.T) {
	box := &inbox{}
	server := httptest.NewServer(box)
	defer server.Close()
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, AllowPrefixes: []string{"+3363998"},
		Read:  carrier.ReadConfig{From: "form:from", Text: "form:text", Message: "form:id"},
		Reply: carrier.ReplyConfig{Via: "send"},
		Guard: carrier.GuardConfig{Open: true},
		Send:  &carrier.SendConfig{URL: server.URL, Body: `{"to":{{json .To}},"text":{{json .Text}},"ref":{{json .ID}}}`, ID: "json:/id"},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	store, clock := openStore(t), &clock{now: time.Date(2026, 11, 25, 22, 30, 0, 0, time.UTC)}
	agreed := session.Consent{Version: 1, Given: true}
	people := session.Writes{People: []session.Person{
		{ID: "g", Phone: "+33639980001", Role: session.Grower, Name: "Asha", District: "Kisima", Language: "en", Consent: agreed},
		{ID: "k", Phone: "+33639980002", Role: session.Coordinator, Name: "Pendo", District: "Kisima", Language: "en", Consent: agreed},
		{ID: "d", Phone: "+33639980003", Role: session.Coordinator, Name: "Zawadi", District: "Korongo", Language: "en", Consent: agreed},
	}}
	if _, err := store.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return people, nil }); err != nil {
		t.Fatal(err)
	}
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Step, cfg.Now = store, dialogue(t).Step, clock.Now
		cfg.Inlets = []gateway.Inlet{gateway.InletOf(c)}
	})
	night, err := dispatch.ParseQuiet("21:00-07:00")
	if err != nil {
		t.Fatal(err)
	}
	out, _ := gateway.OutletOf(c, gateway.NewClient(), clock.Now)
	worker, err := dispatch.New(dispatch.Config{Queue: store, Outlets: []dispatch.Outlet{out}, Now: clock.Now, Quiet: night})
	if err != nil {
		t.Fatal(err)
	}
	form := url.Values{"from": {"+33639980001"}, "id": {"m1"}, "text": {"M 19.1 19.2 19.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 10"}}
	for range 2 { // delivered twice, told once
		r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		if w := answer(g, r); w.Code != http.StatusOK {
			t.Fatalf("taken with %d %q", w.Code, w.Body)
		}
	}
	if _, err := worker.Round(t.Context()); err != nil {
		t.Fatal(err)
	}
	slices.Sort(box.texts)
	if len(box.texts) != 2 || !strings.HasPrefix(box.texts[0], "+33639980001: Out of grade.") ||
		!strings.HasPrefix(box.texts[1], "+33639980002: Alert: moisture 19.2%. Slip ") || !strings.Contains(box.texts[1], ", sent by Asha, Kisima. Dry it today.") {
		t.Errorf("the carrier got %q", box.texts)
	}
}
