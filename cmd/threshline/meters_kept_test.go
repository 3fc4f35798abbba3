package main

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// m7 is a meter that a coordinator keeps at the desk, so many tenths above the oven.
func m7(tenths int) session.Account {
	return session.Account{ID: "meter/m7", Kind: session.DeskMeter, Name: "M7", Meter: session.MeterCheck{
		Bias: grading.NewDecimal(tenths) / 10, Doubt: programme.MeterDoubt, CheckedOn: "2026-11-01",
	}}
}

// A meter that the desk keeps is known to a station that starts, to one that
// serves when it is added, checked again or retired, also by another gateway
// over the same store, and after the configuration was read again.
func TestAMeterOfTheDeskCountsAsOneOfTheConfiguration(t *testing.T) {
	cfg := valley(t)
	path := t.TempDir() + "/meters.db"
	s, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	configured := len(s.programme.Meters)
	if configured == 0 {
		t.Fatal("the configuration has no meter")
	}
	l, ctx := newLive(s), t.Context()
	ctx, stop := context.WithCancel(ctx)
	l.startLoops(ctx)
	t.Cleanup(func() { stop(); l.loops.Wait() })
	bias := func() float64 {
		m := l.now.Load().programme.MeterOf(session.Kit{Meter: "m7"}, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
		if !m.Checked {
			return 0
		}
		return m.Bias.Float()
	}
	keep := func(a session.Account, want float64, meters int) {
		t.Helper()
		if err := demo.Apply(t.Context(), s.store, session.Writes{Accounts: []session.Account{a}}); err != nil {
			t.Fatal(err)
		}
		before := l.now.Load()
		l.remeter(ctx)
		now := l.now.Load()
		if bias() != want || len(now.programme.Meters) != meters || now == before || before.programme == now.programme {
			t.Errorf("M7 reads %g above the oven, want %g; %d meters", bias(), want, len(now.programme.Meters))
		}
		if l.remeter(ctx); l.now.Load() != now {
			t.Error("another station though nothing changed")
		}
	}
	keep(m7(9), 0.9, configured+1)
	again := m7(4)
	again.Version = 1
	keep(again, 0.4, configured+1)
	if got := l.now.Load().rosterRules().Meters; got[len(got)-1] != "M7" {
		t.Errorf("a roster may name %v", got)
	}
	next, err := l.now.Load().again(cfg)
	if err != nil || len(next.programme.Meters) != configured+1 {
		t.Errorf("read again, the configuration has %d meters, %v", len(next.programme.Meters), err)
	}
	again.Version, again.Ended = 2, time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC)
	keep(again, 0, configured)
	back := m7(2)
	back.Version = 3
	keep(back, 0.2, configured+1)
	stop()
	l.loops.Wait()
	if err := s.close(); err != nil {
		t.Fatal(err)
	}
	s, err = openStation(valley(t), path, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	if got := s.programme.MeterNames(); got[len(got)-1] != "M7" {
		t.Errorf("after a start the meters are %v", got)
	}
}

// What the desk keeps counts for the next check by phone: it notes what the meter
// showed, and how much that is above what is true.
func TestAMeterOfTheDeskCorrectsTheNextCheck(t *testing.T) {
	s := newSite(t, program{}, "127.0.0.1:1")
	v := serveSite(t, s)
	asha := session.Person{
		ID: "asha", Phone: "+33639980071", Role: session.Grower, Name: "Asha", District: "Kisima", Language: "en", Kit: session.Kit{Meter: "M7"},
		Consent: session.Consent{Version: v.programme.ConsentVersion, Given: true},
	}
	if err := demo.Apply(t.Context(), v.store, session.Writes{Accounts: []session.Account{m7(9)}, People: []session.Person{asha}}); err != nil {
		t.Fatal(err)
	}
	v.tellMetered()
	v.tellMetered() // a second change while the first is looked at waits for nobody
	for !strings.Contains(s.log.String(), "meters changed") {
		v.again <- func() (*config.Config, error) { return nil, errors.New("the station has looked at what it was told") }
	}
	body := `{"from":"33639980071","text":"M 14.4 14.5 14.6 S 20 O 0.1 I 0.06 B 15.5 T 0.1 P 0 Y 1 R 2 V 0 bag 12 ok","id":"1"}`
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://"+v.address+"/in/valley-sms", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("X-Token", valleyToken)
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	checks, err := v.store.Filed(t.Context(), 0, 9)
	if err != nil || len(checks) != 1 {
		sent, _ := v.store.Sent(t.Context(), session.Outgoing{}, 9)
		t.Fatalf("%s: %d checks were filed, %v, and answered %+v", answer.Status, len(checks), err, sent)
	}
	c := checks[0]
	if m := c.Readings.Meter; m.Name != "M7" || m.Bias != 9000 || !m.Checked {
		t.Errorf("the check was made with %+v", m)
	}
	if c.Readings.Repeats[0] != 144000 || c.Values["moisture"] != 136000 {
		t.Errorf("it notes that the meter showed %v, and grades %s", c.Readings.Repeats, c.Values["moisture"])
	}
}
