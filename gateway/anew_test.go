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
	"threshline/session/store/bolt"
)

// reuser is a phone whose carrier gives each of its sessions the same id, and counts
// the messages of each anew.
type reuser struct {
	t     *testing.T
	store *bolt.Store
	clock *clock
	g     *gateway.Gateway
}

const reusing = "+33639980001"

func newReuser(t *testing.T, now time.Time, people ...session.Person) *reuser {
	p := &reuser{t: t, store: openStore(t), clock: &clock{now: now}}
	machine := dialogue(t)
	known := func(session.View) (session.Writes, error) { return session.Writes{People: people}, nil }
	if _, err := p.store.Exchange(t.Context(), session.Key{}, known); err != nil {
		t.Fatal(err)
	}
	p.g = newGateway(t, func(cfg *gateway.Config) { cfg.Store, cfg.Step, cfg.Now = p.store, machine.Step, p.clock.Now })
	return p
}

func (p *reuser) say(event, text, id string) string {
	p.t.Helper()
	p.clock.add(time.Second)
	body := strings.NewReader("msisdn=" + reusing[1:] + "&input=" + text + "&sid=s&mid=" + id + "&news=" + event)
	r := httptest.NewRequest(http.MethodPost, "/in/valley-ussd", body)
	r.Header = post(reusing, text, id).Header
	w := answer(p.g, r)
	if w.Code != http.StatusOK {
		p.t.Fatalf("%s %q was answered %d", event, text, w.Code)
	}
	return w.Body.String()
}

var asha = session.Person{ID: "g", Phone: reusing, Role: session.Grower, Name: "Asha", Language: "en", Consent: session.Consent{Version: 1, Given: true}}

// While the clock was a year ahead a phone had a session; when it is right again the
// same ids come once more. Each dial, and each entry after it, is answered by what stands
// there now; a message that is delivered twice is answered alike.
func TestIDsThatComeAgainAfterAClockThatWasAhead(t *testing.T) {
	p := newReuser(t, start.AddDate(1, 0, 0), asha)
	menu := p.say("opened", "", "1")
	bags := p.say("typed", "1", "2")
	if menu == bags || !strings.Contains(bags, "bags") {
		t.Fatalf("the first session said %q, then %q", menu, bags)
	}
	for _, back := range []time.Duration{0, time.Hour, 24 * time.Hour} {
		p.clock.now = start.Add(back)
		if dial := p.say("opened", "", "1"); dial == "" {
			t.Error("a dial was not answered")
		}
		help := p.say("typed", "?", "2")
		if help == bags || help == menu {
			t.Errorf("%v after the clock was right, \"?\" was answered with the screen of before: %q", back, help)
		}
		if again := p.say("typed", "?", "2"); again != help {
			t.Errorf("a message that came twice was answered %q, then %q", help, again)
		}
	}
}

// A second session has the ids of the first, whose answers are let go meanwhile: what
// is delivered twice is heard once. Nor does a clock that is set back by a minute bring
// the screens of before.
func TestIDsThatComeAgainAtOnce(t *testing.T) {
	for _, between := range []time.Duration{4 * time.Minute, 10 * time.Minute, -time.Minute} {
		p := newReuser(t, start, asha)
		p.say("opened", "", "1")
		bags := p.say("typed", "1", "2")
		p.say("typed", "00", "3")
		p.clock.add(between)
		p.say("opened", "", "1")
		moisture := p.say("typed", "1 8 75", "2")
		if moisture == bags {
			t.Errorf("%v later an entry was answered with the screen of before: %q", between, bags)
		}
		p.clock.add(2 * time.Minute)
		if _, err := p.store.Sweep(t.Context(), p.clock.Now(), 100); err != nil {
			t.Fatal(err)
		}
		if again := p.say("typed", "1 8 75", "2"); again != moisture {
			t.Errorf("%v later a message that came twice was answered %q, then %q", between, moisture, again)
		}
		if next := p.say("typed", "?", "3"); next == moisture {
			t.Errorf("%v later the next entry was answered with the screen before: %q", between, next)
		}
	}
}

// Whoever declined and dials again is welcomed, not shown nothing.
func TestIDsThatComeAgainAfterANo(t *testing.T) {
	p := newReuser(t, start)
	welcome := p.say("opened", "", "1")
	if gone := p.say("typed", "2", "2"); gone == "" || gone == welcome {
		t.Fatalf("the no was answered %q", gone)
	}
	if again := p.say("opened", "", "1"); again != welcome {
		t.Errorf("the dial after a no was answered %q, the first one %q", again, welcome)
	}
	if next, first := p.say("typed", "1", "2"), welcome; next == "" || next == first {
		t.Errorf("the first entry after it was answered %q", next)
	}
}

// What was said after a dial is not forgotten because the clock was set back before it:
// the next dial shows where that led, not the dial's own screen once more.
func TestIDsThatComeAgainAfterAnEntryUnderAClockSetBack(t *testing.T) {
	p := newReuser(t, start, asha)
	menu := p.say("opened", "", "1")
	p.clock.add(-time.Hour)
	bags := p.say("typed", "1", "2")
	p.clock.add(time.Hour + time.Minute)
	if again := p.say("opened", "", "1"); again == menu || !strings.Contains(again, "bags") {
		t.Errorf("the next dial was answered %q, after %q", again, bags)
	}
}

// One gateway takes a dial and another, whose clock is behind, what is typed after it.
// The next session has the same ids: it begins anew all the same, at whatever gateway,
// and what comes twice is answered alike by both.
func TestIDsThatComeAgainAtGatewaysWhoseClocksDiffer(t *testing.T) {
	for _, behind := range []time.Duration{3 * time.Second, time.Minute, 4 * time.Minute} {
		p := newReuser(t, start, asha)
		ahead := p.g
		machine := dialogue(t)
		late := newGateway(t, func(cfg *gateway.Config) {
			cfg.Store, cfg.Step, cfg.Now = p.store, machine.Step, func() time.Time { return p.clock.Now().Add(-behind) }
		})
		at := func(g *gateway.Gateway, event, text, id string) string {
			p.g = g
			return p.say(event, text, id)
		}
		for n := range 4 {
			at(ahead, "opened", "", "1")
			first := at(late, "typed", "?", "2")
			for _, g := range []*gateway.Gateway{ahead, late} {
				if again := at(g, "typed", "?", "2"); again != first {
					t.Errorf("%v behind, session %d: a message that came twice was answered %q, then %q", behind, n, first, again)
				}
			}
			bags := at(late, "typed", "1", "3")
			if bags == first {
				t.Errorf("%v behind, session %d: an entry was answered with the screen of before", behind, n)
			}
			if dial := at([]*gateway.Gateway{late, ahead}[n%2], "opened", "", "1"); dial == "" || n == 0 && !strings.Contains(dial, "bags") {
				t.Errorf("%v behind, session %d: the next dial was answered %q", behind, n, dial)
			}
			at(late, "typed", "00", "2")
		}
	}
}

// interrupted is a store on the way to which something else happens, at the n-th
// exchange under a message's key.
type interrupted struct {
	*bolt.Store
	n         int
	meanwhile func()
}

func (s *interrupted) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	if key.Duplicate != "" {
		if s.n--; s.n == 0 {
			s.meanwhile()
		}
	}
	return s.Store.Exchange(ctx, key, turn)
}

// A gateway stands still with a dial whose ids were used before, so that another answers
// it; when the first goes on it answers alike. So it is for whoever dialled before, and
// for whoever declined.
func TestADialThatTwoGatewaysTake(t *testing.T) {
	machine := dialogue(t)
	for _, person := range [][]session.Person{{asha}, nil} {
		for at := 1; at <= 2; at++ {
			p := newReuser(t, start, person...)
			p.say("opened", "", "1")
			p.say("typed", "2", "2")
			answered, quick := "", p.g
			store := &interrupted{Store: p.store, n: at, meanwhile: func() { answered = (&reuser{t, p.store, p.clock, quick}).say("opened", "", "1") }}
			p.g = newGateway(t, func(cfg *gateway.Config) { cfg.Store, cfg.Step, cfg.Now = store, machine.Step, p.clock.Now })
			if late := p.say("opened", "", "1"); late != answered || late == "" {
				t.Errorf("%d people, held at exchange %d: one gateway answered %q, the other %q", len(person), at, answered, late)
			}
		}
	}
}
