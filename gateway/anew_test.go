package gateway_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/session"
)

// A carrier counts its sessions and their messages anew. While the clock was a
// year ahead a phone had a session; when it is right again the same ids come
// once more. Each dial, and each entry after it, is answered by what stands
// there now; a message that is delivered twice is answered alike.
func TestIDsThatComeAgainAfterAClockThatWasAhead(t *testing.T) {
	store, machine, clock := openStore(t), dialogue(t), &clock{now: start.AddDate(1, 0, 0)}
	const phone = "+33639980001"
	person := session.Person{ID: "g", Phone: phone, Role: session.Grower, Name: "Asha", Language: "en", Consent: session.Consent{Version: 1, Given: true}}
	known := func(session.View) (session.Writes, error) {
		return session.Writes{People: []session.Person{person}}, nil
	}
	if _, err := store.Exchange(t.Context(), session.Key{}, known); err != nil {
		t.Fatal(err)
	}
	g := newGateway(t, func(cfg *gateway.Config) { cfg.Store, cfg.Step, cfg.Now = store, machine.Step, clock.Now })
	say := func(event, text, id string) string {
		t.Helper()
		clock.add(time.Second)
		body := strings.NewReader("msisdn=" + phone[1:] + "&input=" + text + "&sid=s&mid=" + id + "&news=" + event)
		r := httptest.NewRequest(http.MethodPost, "/in/valley-ussd", body)
		r.Header = post(phone, text, id).Header
		w := answer(g, r)
		if w.Code != http.StatusOK {
			t.Fatalf("%s %q was answered %d", event, text, w.Code)
		}
		return w.Body.String()
	}
	menu := say("opened", "", "1")
	bags := say("typed", "1", "2")
	if menu == bags || !strings.Contains(bags, "bags") {
		t.Fatalf("the first session said %q, then %q", menu, bags)
	}
	for _, back := range []time.Duration{0, time.Hour, 24 * time.Hour} {
		clock.now = start.Add(back)
		if dial := say("opened", "", "1"); dial == "" {
			t.Error("a dial was not answered")
		}
		help := say("typed", "?", "2")
		if help == bags || help == menu {
			t.Errorf("%v after the clock was right, \"?\" was answered with the screen of before: %q", back, help)
		}
		if again := say("typed", "?", "2"); again != help {
			t.Errorf("a message that came twice was answered %q, then %q", help, again)
		}
	}
}
