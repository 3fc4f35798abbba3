package gateway_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
	"threshline/session/store/mem"
)

// inbox is a carrier that takes every message and keeps it.
type inbox struct {
	mu    sync.Mutex
	texts []string
	ids   []string
}

func (i *inbox) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	var message struct{ To, Text, Ref string }
	if err := json.NewDecoder(r.Body).Decode(&message); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	i.mu.Lock()
	defer i.mu.Unlock()
	i.texts = append(i.texts, message.To+": "+message.Text)
	i.ids = append(i.ids, "c-"+message.Ref)
	fmt.Fprintf(w, `{"id":%q}`, "c-"+message.Ref)
}

// A text comes in by one request, the answer goes out by another, and a third
// brings its receipt.
func TestAnAnswerByCallGoesOutAndItsReceiptComesBack(t *testing.T) {
	box := &inbox{}
	server := httptest.NewServer(box)
	defer server.Close()
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, AllowPrefixes: []string{"+3363998"},
		Read:    carrier.ReadConfig{From: "form:from", Text: "form:text", Message: "form:id"},
		Reply:   carrier.ReplyConfig{Via: "send"},
		Guard:   carrier.GuardConfig{Open: true},
		Send:    &carrier.SendConfig{URL: server.URL, Body: `{"to":{{json .To}},"text":{{json .Text}},"ref":{{json .ID}}}`, ID: "json:/id", PerSegment: 0.5},
		Receipt: &carrier.ReceiptConfig{ID: "form:id", State: "form:state", Delivered: []string{"there"}, Failed: []string{"lost"}},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	store, metrics, clock, woken := mem.New(mem.Options{}), gateway.NewMetrics(), &clock{now: start}, 0
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Receipts, cfg.Step, cfg.Now = store, store, dialogue(t).Step, clock.Now
		cfg.Inlets, cfg.Metrics, cfg.Queued = []gateway.Inlet{gateway.InletOf(c)}, metrics, func() { woken++ }
	})
	out, _ := gateway.OutletOf(c, gateway.NewClient(), clock.Now)
	worker, err := dispatch.New(dispatch.Config{
		Queue: store, Outlets: []dispatch.Outlet{out}, Now: clock.Now,
		Watcher: &gateway.Watch{Metrics: metrics, Log: zerolog.Nop(), PerSegment: map[string]float64{"valley-sms": 0.5}, Now: clock.Now},
	})
	if err != nil {
		t.Fatal(err)
	}

	text := func(path, form string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return answer(g, r)
	}
	for range 2 { // delivered twice, answered once
		if w := text("/in/valley-sms", "from=%2B33639980001&text=hello&id=m1"); w.Code != http.StatusOK || w.Body.Len() != 0 {
			t.Fatalf("taken with %d %q", w.Code, w.Body)
		}
	}
	clock.add(3 * time.Second)
	if _, err := worker.Round(t.Context()); err != nil {
		t.Fatal(err)
	}
	if woken != 1 || len(box.texts) != 1 || !strings.HasPrefix(box.texts[0], "+33639980001: ") || len(box.texts[0]) < 30 {
		t.Fatalf("the worker was woken %d times, the carrier got %q", woken, box.texts)
	}
	if w := text("/receipt/valley-sms", "id="+box.ids[0]+"&state=there"); w.Code != http.StatusOK {
		t.Fatalf("the receipt was answered %d %q", w.Code, w.Body)
	}
	sent, err := store.Sent(t.Context(), session.Outgoing{}, 10)
	if err != nil || len(sent) != 1 || sent[0].State != session.Delivered || sent[0].Segments != 1 {
		t.Errorf("the store holds %+v, %v", sent, err)
	}
	scrape := answer(g, httptest.NewRequest(http.MethodGet, "/metrics", nil)).Body.String()
	for _, want := range []string{
		`threshline_exchanges_total{channel="valley-sms",kind="sms",outcome="answered"} 1`,
		`threshline_exchanges_total{channel="valley-sms",kind="sms",outcome="duplicate"} 1`,
		`threshline_outgoing_total{channel="valley-sms",purpose="greeting",state="handed on"} 1`,
		`threshline_segments_total{channel="valley-sms"} 1`, `threshline_cost_total{channel="valley-sms"} 0.5`,
		`threshline_outgoing_wait_seconds_sum 3`,
	} {
		if !strings.Contains(scrape, want+"\n") {
			t.Errorf("the metrics have no line %s", want)
		}
	}
	today := dispatch.SpentToday(store)
	if n, err := today(t.Context(), "valley-sms", start.Truncate(24*time.Hour)); n[session.ForStrangers] != 1 || err != nil {
		t.Errorf("spent today: %v segments, %v", n, err)
	}
	if n, err := today(t.Context(), "valley-sms", start.Add(time.Hour)); len(n) != 0 || err != nil {
		t.Errorf("spent since later: %v segments, %v", n, err)
	}
}
