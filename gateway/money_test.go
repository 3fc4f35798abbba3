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
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/gateway/gsm"
	"threshline/session"
)

// purse is a day's money that gateways share, in memory.
type purse struct {
	mu    sync.Mutex
	spent map[string]int
}

func (p *purse) Spend(_ context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	key := channel + part + day.String()
	if taken = must || most < 0 || p.spent[key]+segments <= most; taken {
		p.spent[key] += segments
	}
	return p.spent[key], taken, false, nil
}

// payer is a programme of which every message out costs a unit, and a day 100.
type payer struct {
	t         *testing.T
	box       *inbox
	clock     *clock
	g         *gateway.Gateway
	worker    *dispatch.Worker
	reminders *dispatch.Reminders
	sent      int
}

func newPayer(t *testing.T, shared dispatch.Purse) *payer {
	p := &payer{t: t, box: &inbox{}, clock: &clock{now: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)}}
	server := httptest.NewServer(p.box)
	t.Cleanup(server.Close)
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, AllowPrefixes: []string{"+3363998"},
		Read:  carrier.ReadConfig{From: "form:from", Text: "form:text"},
		Reply: carrier.ReplyConfig{Via: "send"},
		Guard: carrier.GuardConfig{Open: true},
		Send: &carrier.SendConfig{URL: server.URL, Body: `{"to":{{json .To}},"text":{{json .Text}},"ref":{{json .ID}}}`, ID: "json:/id",
			PerSegment: 1, DailyLimit: 100},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	store, machine := openStore(t), dialogue(t)
	agreed := session.Consent{Version: 1, Given: true}
	people := session.Writes{People: []session.Person{
		{ID: "g", Phone: "+33639980001", Role: session.Grower, Name: "Asha", District: "Kisima", Language: "en", Consent: agreed},
		{ID: "h", Phone: "+33639980004", Role: session.Grower, Name: "Baraka", District: "Kisima", Language: "en", Consent: agreed},
		{ID: "k", Phone: "+33639980002", Role: session.Coordinator, Name: "Pendo", District: "Kisima", Language: "en", Consent: agreed},
		{ID: "d", Phone: "+33639980003", Role: session.Coordinator, Name: "Zawadi", Language: "en", Consent: agreed},
	}}
	if _, err := store.Exchange(t.Context(), session.Key{}, func(session.View) (session.Writes, error) { return people, nil }); err != nil {
		t.Fatal(err)
	}
	p.g = newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Step, cfg.Now = store, machine.Step, p.clock.Now
		cfg.Inlets = []gateway.Inlet{gateway.InletOf(c)}
	})
	out, _ := gateway.OutletOf(c, gateway.NewClient(), p.clock.Now)
	p.worker, err = dispatch.New(dispatch.Config{
		Queue: store, Outlets: []dispatch.Outlet{out}, Now: p.clock.Now, SpentToday: dispatch.SpentToday(store), Purse: shared,
		Join: func(ctx context.Context, o session.Outgoing) error {
			return dispatch.Join(ctx, store, o, p.clock.Now())
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	p.reminders = &dispatch.Reminders{
		Agenda: store, Turn: machine.Remind, Entropy: dice(), Watcher: faults{t}, Budget: session.Budget{Septets: 160, Count: gsm.Count},
	}
	return p
}

// says has a phone text something, and gives what goes out then, a line each.
func (p *payer) says(from, text string) []string {
	p.t.Helper()
	r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader(url.Values{"from": {from}, "text": {text}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if w := answer(p.g, r); w.Code != http.StatusOK {
		p.t.Fatalf("taken with %d %q", w.Code, w.Body)
	}
	p.clock.now = p.clock.now.Add(5 * time.Second)
	return p.work()
}

// work has everything go out that may.
func (p *payer) work() []string {
	p.t.Helper()
	for n := 1; n > 0; {
		var err error
		if n, err = p.worker.Round(p.t.Context()); err != nil {
			p.t.Fatal(err)
		}
	}
	fresh := p.box.texts[p.sent:]
	p.sent = len(p.box.texts)
	return fresh
}

// to is what of some lines goes to a number.
func to(lines []string, number string) (texts []string) {
	for _, line := range lines {
		if rest, ok := strings.CutPrefix(line, number+": "); ok {
			texts = append(texts, rest)
		}
	}
	return texts
}

// payers are the two ways to count a day's money.
func payers(t *testing.T, test func(*testing.T, *payer)) {
	t.Run("a gateway alone", func(t *testing.T) { test(t, newPayer(t, nil)) })
	t.Run("gateways together", func(t *testing.T) { test(t, newPayer(t, &purse{spent: map[string]int{}})) })
}

// One phone files 34 mouldy lots. Each is answered with the stop; the two
// coordinators are told of three one by one and of the rest together, at the full
// hour and whatever is spent; and a new phone is answered as ever.
func TestOnePhoneDoesNotSpendEverybodysMoney(t *testing.T) {
	payers(t, func(t *testing.T, p *payer) {
		alone := 0
		for i := range 34 {
			lines := p.says("+33639980001", fmt.Sprintf("M 13.1 13.2 13.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag %d mouldy", i+1))
			if got := to(lines, "+33639980001"); len(got) != 1 || !strings.Contains(got[0], "Do not eat") {
				t.Fatalf("lot %d was answered %q", i+1, got)
			}
			alone += len(to(lines, "+33639980002")) + len(to(lines, "+33639980003"))
		}
		if alone != 6 {
			t.Errorf("%d alerts went out one by one to two coordinators, want 6", alone)
		}
		const fresh = "+33639980077"
		for i, entry := range []string{"hello", "1", "1", "Juma, Kisima", "1"} {
			if got := to(p.says(fresh, entry), fresh); len(got) != 1 {
				t.Errorf("the new phone's message %d, %q, was answered %q", i+1, entry, got)
			}
		}
		// Another grower's lot, of which nothing is left to tell with.
		if got := to(p.says("+33639980004", "M 13.1 13.2 13.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 9 mouldy"), "+33639980002"); len(got) != 0 {
			t.Errorf("the money for dangers is spent, and an alert went out by itself: %q", got)
		}
		p.clock.now = p.clock.now.Truncate(time.Hour).Add(time.Hour)
		if _, err := p.reminders.Round(t.Context(), p.clock.now); err != nil {
			t.Fatal(err)
		}
		lines := p.work()
		for _, chief := range []string{"+33639980002", "+33639980003"} {
			if got := to(lines, chief); len(got) != 1 || !strings.HasPrefix(got[0], "Alerts: 32 more: mould.") {
				t.Errorf("at the full hour a coordinator was told %q", got)
			}
		}
	})
}

// Sixty strangers say hello. They are answered as far as the strangers' part of
// the day goes; a lot with mould is told of at once.
func TestStrangersHoldNoAlertBack(t *testing.T) {
	payers(t, func(t *testing.T, p *payer) {
		answered := 0
		for i := range 60 {
			phone := fmt.Sprintf("+336399811%02d", i)
			answered += len(to(p.says(phone, "hello"), phone))
		}
		if answered != 10 {
			t.Errorf("%d strangers were answered, a tenth of the day pays for 10", answered)
		}
		lines := p.says("+33639980001", "M 13.1 13.2 13.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag 9 mouldy")
		if len(to(lines, "+33639980001")) != 1 || len(to(lines, "+33639980002")) != 1 || len(to(lines, "+33639980003")) != 1 {
			t.Errorf("of a lot with mould went out %q", lines)
		}
		if got := to(p.says("+33639980001", "menu"), "+33639980001"); len(got) != 1 {
			t.Errorf("somebody we know was answered %q", got)
		}
	})
}

// A grower sends lot after lot. What goes beyond a tenth of the money for people
// we know, and at least ten segments, is paid out of the strangers' part; another
// grower is answered as ever, and on the next day so is the first.
func TestOnePhoneTakesItsShareOfTheAnswers(t *testing.T) {
	payers(t, func(t *testing.T, p *payer) {
		const busy, other = "+33639980001", "+33639980004"
		answered := 0
		for i := range 60 {
			answered += len(to(p.says(busy, fmt.Sprintf("M 13.1 13.2 13.3 S 200 O 1.4 I 0.2 B 155.2 T 0.5 P 0 Y 0 R 2 V 0 bag %d OK", i+1)), busy))
		}
		if answered < session.LeastOfOnePhone/2 || answered > 20 {
			t.Errorf("one phone got %d answers, its share and the strangers' part pay for 20 segments", answered)
		}
		for i := range 10 {
			if got := to(p.says(other, []string{"menu", "help"}[i%2]), other); len(got) != 1 {
				t.Errorf("another grower's message %d was answered %q", i+1, got)
			}
		}
		p.clock.now = p.clock.now.Add(25 * time.Hour)
		if got := to(p.says(busy, "menu"), busy); len(got) == 0 {
			t.Error("a day later the busy phone is not answered")
		}
	})
}
