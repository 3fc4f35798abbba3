package gateway_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/gateway/gsm"
	"threshline/session"
)

// An agent's message about two lots files both, and sets the agent's week once;
// the week is told on Monday, and again the Monday after.
func TestAnAgentsWeekComesEveryMonday(t *testing.T) {
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, AllowPrefixes: []string{"+3363998"},
		Read: carrier.ReadConfig{From: "form:from", Text: "form:text"}, Reply: carrier.ReplyConfig{Body: "{{.Text}}"},
		Guard: carrier.GuardConfig{Open: true},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	store, clock := openStore(t), &clock{now: time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)} // a Friday
	agreed := session.Consent{Version: 1, Given: true}
	people := session.Writes{People: []session.Person{
		{ID: "a", Phone: "+33639980001", Role: session.Agent, Name: "Neema", District: "Kisima", Language: "en", Consent: agreed},
		{ID: "g", Role: session.Grower, Name: "Asha", District: "Kisima", Agent: "a", Short: 1, Consent: agreed},
		{ID: "h", Role: session.Grower, Name: "Musa", District: "Kisima", Agent: "a", Short: 2, Consent: agreed},
	}}
	if _, err := store.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return people, nil }); err != nil {
		t.Fatal(err)
	}
	machine := dialogue(t)
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Step, cfg.Now = store, machine.Step, clock.Now
		cfg.Inlets = []gateway.Inlet{gateway.InletOf(c)}
	})
	const lot = " M 13.1 13.2 13.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 10"
	form := url.Values{"from": {"+33639980001"}, "text": {"G1" + lot + "\nG2" + lot}}
	r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := answer(g, r)
	if said := w.Body.String(); w.Code != http.StatusOK || !strings.Contains(said, "Asha ") || !strings.Contains(said, "Musa ") {
		t.Fatalf("%d %q", w.Code, said)
	}
	if checks, err := store.Filed(t.Context(), 0, 10); len(checks) != 2 || err != nil {
		t.Fatalf("%d checks are filed, %v", len(checks), err)
	}
	reminders := &dispatch.Reminders{
		Agenda: store, Turn: machine.Remind, Entropy: dice(), Watcher: faults{t}, Budget: session.Budget{Septets: 160, Count: gsm.Count},
	}
	for week, want := range []string{"Your week: 2 checks. Lots by grade: I: 2.", ""} {
		clock.now = time.Date(2026, 11, 23+7*week, 8, 0, 0, 0, time.UTC)
		if dealt, err := reminders.Round(t.Context(), clock.now); dealt != 1 || err != nil {
			t.Fatalf("week %d: %d reminders, %v", week, dealt, err)
		}
		sent, err := store.Sent(t.Context(), session.Outgoing{}, 10)
		if err != nil || len(sent) != 1 || !strings.HasPrefix(sent[0].Text, want) {
			t.Errorf("week %d: sent %+v, %v", week, sent, err)
		}
	}
}

// faults is a watcher to whom nothing may fail.
type faults struct{ t *testing.T }

func (faults) Settled(session.Outgoing)                     {}
func (faults) Spent(string, session.Part, float64, float64) {}
func (f faults) Failed(doing string, err error) {
	f.t.Errorf("%s: %v", doing, err)
}
