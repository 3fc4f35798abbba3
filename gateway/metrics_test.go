package gateway_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/session"
	"threshline/session/store/mem"
)

// The age of the queue is looked up when somebody asks, so that it is never
// older than the answer; and the other figures do not depend on it.
func TestTheAgeOfTheQueueIsLookedUpWhenAsked(t *testing.T) {
	store, clock := mem.New(mem.Options{}), &clock{now: start}
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Now, cfg.QueueAge = store, clock.Now, store.QueueAge
	})
	scrape := func(want ...string) {
		t.Helper()
		w := answer(g, httptest.NewRequest(http.MethodGet, "/metrics", nil))
		for _, line := range want {
			if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), line+"\n") {
				t.Errorf("answered %d, without the line %s", w.Code, line)
			}
		}
	}
	scrape("threshline_queue_age_seconds 0")
	_, err := store.Exchange(t.Context(), session.Key{}, func(session.View) (w session.Writes, err error) {
		w.Outgoing = []session.Outgoing{{ID: "m", To: "+33639980001", Text: "hello", State: session.Queued, Created: start, Due: start}}
		return w, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	clock.add(90 * time.Second)
	scrape("threshline_queue_age_seconds 90")
	clock.add(time.Minute)
	scrape("threshline_queue_age_seconds 150")
	if _, err := store.Claim(context.Background(), clock.Now(), 1, time.Minute); err != nil {
		t.Fatal(err)
	}
	scrape("threshline_queue_age_seconds 0")
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	scrape(`threshline_faults_total{doing="look up the queue's age"} 1`, "threshline_panics_total 0")
}

func TestTheFiguresAreForWhoBringsTheToken(t *testing.T) {
	g := newGateway(t, func(cfg *gateway.Config) { cfg.MetricsToken = "not-a-real-secret" })
	for authorization, want := range map[string]int{
		"": http.StatusUnauthorized, "Bearer wrong": http.StatusUnauthorized, "not-a-real-secret": http.StatusUnauthorized,
		"Bearer not-a-real-secret": http.StatusOK,
	} {
		r := httptest.NewRequest(http.MethodGet, "/metrics", nil)
		r.Header.Set("Authorization", authorization)
		if w := answer(g, r); w.Code != want {
			t.Errorf("with %q answered %d, want %d", authorization, w.Code, want)
		}
	}
}
