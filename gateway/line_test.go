package gateway_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/session"
)

// paired is a store in which the first message of each pair stands still until the
// second has arrived.
type paired struct {
	gateway.Store
	mu      sync.Mutex
	begun   map[session.Phone]chan struct{} // closed when the first is under way
	arrived map[session.Phone]chan struct{} // closed when the second was read
}

func (h *paired) of(phones map[session.Phone]chan struct{}, phone session.Phone) chan struct{} {
	h.mu.Lock()
	defer h.mu.Unlock()
	if phones[phone] == nil {
		phones[phone] = make(chan struct{})
	}
	return phones[phone]
}

func (h *paired) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	begun := h.of(h.begun, key.Phone)
	select {
	case <-begun: // the second
	default:
		close(begun)
		<-h.of(h.arrived, key.Phone)
	}
	return h.Store.Exchange(ctx, key, turn)
}

// arrival is a carrier that says when the second message of a pair was read.
type arrival struct {
	gateway.Carrier
	store *paired
}

func (w arrival) Read(r *carrier.Request) ([]carrier.Inbound, error) {
	messages, err := w.Carrier.Read(r)
	if len(messages) == 1 && messages[0].Text == "2" {
		close(w.store.of(w.store.arrived, messages[0].From))
	}
	return messages, err
}

// Two messages of one phone, the second sent before the first is answered, are
// taken in the order in which they came: in every pair of two hundred.
func TestMessagesOfOnePhoneAreTakenInOrder(t *testing.T) {
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, Read: carrier.ReadConfig{From: "form:from", Text: "form:text"},
		Reply: carrier.ReplyConfig{Body: "{{.Text}}"}, Guard: carrier.GuardConfig{Open: true},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	store := &paired{Store: openStore(t), begun: map[session.Phone]chan struct{}{}, arrived: map[session.Phone]chan struct{}{}}
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Limits = store, gateway.Limits{}
		ch := gateway.InletOf(c)
		ch.Carrier = arrival{c, store}
		cfg.Inlets = []gateway.Inlet{ch}
	})
	say := func(phone session.Phone, text string) string {
		form := url.Values{"from": {string(phone)}, "text": {text}}
		r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return answer(g, r).Body.String()
	}
	var all sync.WaitGroup
	for i := range 200 {
		phone := session.Phone(fmt.Sprintf("+336399815%02d", i%100))
		if i >= 100 {
			phone = session.Phone(fmt.Sprintf("+336399816%02d", i%100))
		}
		all.Go(func() {
			var pair sync.WaitGroup
			var first string
			pair.Go(func() { first = say(phone, "1") })
			<-store.of(store.begun, phone)
			second := say(phone, "2")
			pair.Wait()
			if !strings.HasPrefix(first, "Message 1") || !strings.HasPrefix(second, "Message 2") {
				t.Errorf("%v: answered %q and %q", phone, first, second)
			}
		})
	}
	all.Wait()
}
