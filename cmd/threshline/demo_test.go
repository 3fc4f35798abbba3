package main

import (
	"bytes"
	"context"
	"net"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/cmd/threshline/handset"
	"threshline/session"
	"threshline/session/programme"
)

// running is the demonstration's gateway on a free port over a new store.
type running struct {
	station *station
	base    string
}

func startDemo(t *testing.T) running {
	t.Helper()
	cfg, err := config.Parse("demo.toml", demo.Config)
	if err != nil {
		t.Fatal(err)
	}
	s, err := openStation(cfg, filepath.Join(t.TempDir(), "threshline.db"), zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.run(ctx, listener) }()
	t.Cleanup(func() {
		stop()
		if err := <-done; err != nil {
			t.Errorf("stop: %v", err)
		}
		if err := s.close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return running{s, "http://" + listener.Addr().String()}
}

// play plays lines on a handset and returns all it showed, unwrapped.
func (r running) play(t *testing.T, channel, number string, lines ...string) string {
	t.Helper()
	cfg, err := r.station.cfg.Channel(channel)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	script := strings.NewReader(strings.Join(lines, "\n") + "\n")
	if err := handset.New(r.base, cfg, number).Play(context.Background(), script, &out, false); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	if strings.Contains(out.String(), "TOO LONG") || strings.Contains(out.String(), "cannot show") {
		t.Errorf("a screen does not fit a basic phone:\n%s", out.String())
	}
	return out.String()
}

// flat is the text of framed screens on one line.
func flat(screens string) string {
	screens = regexp.MustCompile(`(?m)^\| | \|$|^[.'].*$`).ReplaceAllString(screens, "")
	return strings.Join(strings.Fields(screens), " ")
}

// joined are the keys with which somebody new comes as far as the main menu.
var joined = []string{"1", "1", "Juma, Kisimani", "3"}

func wants(t *testing.T, screens string, parts ...string) {
	t.Helper()
	text := flat(screens)
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("no screen says %q:\n%s", part, screens)
		}
	}
}

func TestAGoodLotIsGradedByUSSD(t *testing.T) {
	demo := startDemo(t)
	got := demo.play(t, "valley-ussd", "+33639980042", append(joined,
		"1", "8", "1", "12.4 12.5 12.4", "200", "0.4 0.1", "156 1.0", "0 0 0", "1", "1")...)
	wants(t, got, "Grade 1 of 3")
}

func TestABadLotIsToldWhatHoldsItDownAndWhatToDo(t *testing.T) {
	demo := startDemo(t)
	got := demo.play(t, "valley-ussd", "+33639980042", append(joined,
		"1", "8", "1", "13.2 13.3 13.2", "200", "7.0 0.2", "152 1.0", "0 0 0", "1", "1")...)
	wants(t, got, "Grade 3 of 3", "Held down by chaff and straw: 3.50%", "Winnow again, then grade 1")
}

func TestASlipOfAFiledCheckIsFoundByABuyer(t *testing.T) {
	demo := startDemo(t)
	got := demo.play(t, "valley-ussd", "+33639980042", append(joined,
		"1", "8", "1", "12.4 12.5 12.4", "200", "0.4 0.1", "156 1.0", "0 0 0", "1", "1")...)
	slip := regexp.MustCompile(`[Ss]lip:? ([2-9A-Z]{7})`).FindStringSubmatch(flat(got))
	if slip == nil {
		t.Fatalf("no slip on the grade's screens:\n%s", got)
	}
	if _, ok := session.ParseSlip(slip[1]); !ok {
		t.Fatalf("%s is not a slip", slip[1])
	}
	found := demo.play(t, "valley-sms", "+447700900123", slip[1])
	wants(t, found, "Grade 1", "12.4")
	if strings.Contains(found, "Juma") {
		t.Errorf("a buyer is shown the grower's name:\n%s", found)
	}
}

func TestADroppedSessionIsTakenUpWhereItStood(t *testing.T) {
	demo := startDemo(t)
	got := demo.play(t, "valley-ussd", "+33639980042", append(joined, "1", "8", "1", "13.8 14.1 13.9", ":drop", ":dial")...)
	last := got[strings.LastIndex(got, "> :dial"):]
	wants(t, last, "Weigh the sample")
}

func TestARepeatedMessageIsAnsweredTheSameAndCountsOnce(t *testing.T) {
	demo := startDemo(t)
	got := demo.play(t, "valley-ussd", "+33639980042", append(joined, "1", "8", ":again")...)
	screens := regexp.MustCompile(`(?m)^> .*$`).Split(got, -1)
	n := len(screens)
	if screens[n-1] != screens[n-2] {
		t.Errorf("answered %s and then %s", screens[n-2], screens[n-1])
	}
}

func TestWrongKeysAreAskedForAgain(t *testing.T) {
	demo := startDemo(t)
	long := strings.Repeat("9", 2000)
	got := demo.play(t, "valley-ussd", "+33639980042", append(joined,
		"1", "eight", "-3", "😀", long, "8", "1", "2", "fourteen", "13.8 14.1 13.9")...)
	wants(t, got, "Weigh the sample", " 2% cannot be")
}

func TestTheInventedSeasonIsWhole(t *testing.T) {
	run := startDemo(t)
	ctx := context.Background()
	if _, err := demo.File(ctx, run.station.store, run.station.programme, time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	checks, err := run.station.store.Filed(ctx, 0, demo.Checks+1)
	if err != nil {
		t.Fatal(err)
	}
	agents, districts, grades, rechecks := map[session.PersonID]bool{}, map[string]bool{}, map[string]int{}, 0
	for _, c := range checks {
		agents[c.Reporter], districts[c.Lot.District] = true, true
		grades[string(c.Grade)]++
		if c.Recheck != "" {
			rechecks++
		}
	}
	if len(checks) < 400 || len(agents) != 6 || len(districts) != 4 || len(grades) < 4 || rechecks < 20 {
		t.Errorf("%d checks by %d agents in %d districts, %d re-checks, grades %v", len(checks), len(agents), len(districts), rechecks, grades)
	}
}

// The demonstration has checks by hand too, and pairs with the kit: what a page of
// the desk shows how well hands did of.
func TestTheInventedSeasonHasChecksByHand(t *testing.T) {
	run := startDemo(t)
	ctx, s := t.Context(), run.station
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	if _, err := demo.File(ctx, s.store, s.programme, now); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second time nothing is added
		if err := demo.FileHands(ctx, s.store, s.programme); err != nil {
			t.Fatal(err)
		}
	}
	checks, err := s.store.Filed(ctx, 0, 2*demo.Checks)
	if err != nil {
		t.Fatal(err)
	}
	hands, held := 0, 0
	bySlip := map[session.Slip]session.Check{}
	for _, c := range checks {
		bySlip[c.Slip] = c
	}
	for _, c := range checks {
		if c.Readings.ByHand() {
			hands++
			if _, err := s.programme.JudgeHand(c.Lot, c.Readings, c.At, nil); err != nil || !c.Ungraded() || c.At.After(now) {
				t.Errorf("%s: %v, graded %q at %v", c.Slip, err, c.Grade, c.At)
			}
		} else if hand, ok := bySlip[c.Recheck]; ok && hand.Readings.ByHand() {
			if pair := s.programme.HoldHand(&hand, &c); pair.Apart == programme.PairTogether && len(pair.Values) > 3 {
				held++
			}
		}
	}
	if hands < 20 || held < 10 || len(checks)-hands != demo.Checks {
		t.Errorf("%d checks by hand, %d pairs, %d checks with the kit", hands, held, len(checks)-hands)
	}
	if _, n := s.programme.Learn(checks, now); n < programme.LearnFrom {
		t.Errorf("the season teaches nothing any more: %d first checks", n)
	}
}
