package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing/synctest"
	"time"

	"threshline/session"
)

// errKilled is what a gateway meets that was killed.
var errKilled = fmt.Errorf("killed: %w", session.ErrClosed)

// strike is what befalls a gateway at the n-th moment of a kind.
type strike struct {
	at   string
	n    int
	kill bool
}

// cross is a moment at which a gateway may be struck: it then stands still, or does
// nothing any more.
func (g *simGateway) cross(doing string) error {
	g.lock.Lock()
	if k := g.strike; k != nil && g.doing && (k.at == "" || k.at == doing) {
		if k.n--; k.n <= 0 {
			g.strike, g.s.disturbed = nil, time.Now()
			g.s.happened.add("strike")
			g.s.note("gateway %d is struck at: %s, killed: %v", g.number, doing, k.kill)
			g.struck = time.Now()
			g.s.carrier.nobodyKnows(g)
			if g.dead = k.kill; k.kill {
				g.s.kills = append(g.s.kills, g.struck)
			} else {
				g.still, g.late = make(chan struct{}), true
			}
		}
	}
	still := g.still
	g.lock.Unlock()
	if still != nil {
		<-still
	}
	g.lock.Lock()
	defer g.lock.Unlock()
	if g.dead {
		return errKilled
	}
	return nil
}

// do has a gateway do something, until it is done or the gateway stands still.
func (g *simGateway) do(work func()) (done bool) {
	if g.strike == nil {
		work()
		return true
	}
	over := make(chan struct{})
	g.doing = true
	go func() {
		defer close(over)
		work()
	}()
	defer func() { g.doing = false }()
	return g.await(over)
}

// await waits until work is over or the gateway stands still.
func (g *simGateway) await(over chan struct{}) bool {
	for {
		synctest.Wait()
		select {
		case <-over:
			return true
		default:
		}
		g.lock.Lock()
		still := g.still != nil
		g.lock.Unlock()
		if still {
			g.left = over
			return false
		}
		time.Sleep(time.Second) // it waits for the carrier
	}
}

// moments are those at which a gateway may be struck; any is the empty one.
var moments = []string{
	"", "", "exchange", "turn", "turn", "exchange done", "claim done", "spend", "spend done", "call", "called", "settle", "settle done",
	"due done", "filed done", "people done", "begin done", "end", "end done", "sweep", "sweep done", "backup", "backup done",
}

// befall lets something happen that only several gateways can stand: one of them
// stands still in the middle of its work, or is killed, and the other goes on.
func (s *simulation) befall() {
	if !s.two() {
		return
	}
	for _, g := range s.gateways {
		switch {
		case g.still != nil:
			if s.company.IntN(4) == 0 {
				g.goOn(s.company.IntN(4) == 0)
			}
			return
		case g.dead:
			if s.company.IntN(4) == 0 {
				s.restart(g)
			}
			return
		case g.strike != nil:
			return
		}
	}
	if s.company.IntN(10) == 0 {
		g := s.gateways[s.company.IntN(2)]
		g.strike = &strike{at: moments[s.company.IntN(len(moments))], n: 1 + s.company.IntN(3), kill: s.company.IntN(3) == 0}
	}
}

// allWork has every gateway work again.
func (s *simulation) allWork() {
	for _, g := range s.gateways {
		g.strike = nil
		if g.still != nil {
			g.goOn(false)
		}
		if g.dead {
			s.restart(g)
		}
	}
}

// leaveNone ends what still stands when a run is over.
func (s *simulation) leaveNone() {
	for _, g := range s.gateways {
		if g.still != nil {
			g.delivery = nil
			g.goOn(true)
		}
	}
}

// goOn ends a stand-still, or has the gateway killed in it. What it was at when it
// stood still must not undo what another did meanwhile.
func (g *simGateway) goOn(kill bool) {
	s, asked := g.s, g.s.simGateway
	s.note("gateway %d goes on, killed: %v", g.number, kill)
	slips, queued := len(s.truth.slips), len(s.truth.order)
	if kill {
		s.kills = append(s.kills, g.struck)
	}
	s.disturbed = time.Now()
	g.lock.Lock()
	still, over := g.still, g.left
	g.still, g.left, g.dead = nil, nil, kill
	g.lock.Unlock()
	s.talking = g.delivery != nil
	close(still)
	g.await(over)
	s.talking, g.late = false, false
	if d := g.delivery; d != nil {
		g.delivery = nil
		if d.again && (len(s.truth.slips) > slips || len(s.truth.order) > queued) {
			s.wrong(ruleAlike, "gateway %d stood still with %q, which another has answered, and stored it once more", g.number, d.path)
		}
		if d.again && !kill && d.answer.Code == http.StatusOK && d.answer.Body.String() != d.other {
			s.wrong(ruleAlike, "gateway %d stood still with %q and answers %q, another answered %q", g.number, d.path, d.answer.Body, d.other)
		}
	}
	if s.simGateway = asked; !asked.works() {
		s.route()
	}
}

// restart begins a gateway anew that was killed.
func (s *simulation) restart(g *simGateway) {
	s.note("gateway %d is started again", g.number)
	g.delivery, g.late = nil, false
	g.dead = false
	s.simGateway = g
	if err := s.start(); err != nil {
		s.wrong(ruleRest, "start: %w", err)
	}
}

// simDelivery is a request that a gateway did not answer in the carrier's time.
type simDelivery struct {
	path, other string
	answer      *httptest.ResponseRecorder
	again       bool // another has answered it
}

// carrierWaits is how long a carrier waits before it tries the other gateway.
const carrierWaits = 8 * time.Second

// ask has a gateway answer a request, and the other one if the first stands still or
// is killed meanwhile; a little later the first may go on.
func (s *simulation) ask(request func() *http.Request) *httptest.ResponseRecorder {
	s.redelivered = false
	for {
		s.route()
		g, w := s.simGateway, httptest.NewRecorder()
		answered := g.do(func() { g.station.gateway.ServeHTTP(w, request()) })
		if answered && !g.dead {
			s.answered(w)
			return w
		}
		if !answered {
			g.delivery = &simDelivery{path: request().URL.Path, answer: w}
		}
		s.redelivered = true
		time.Sleep(time.Duration(s.company.Int64N(int64(carrierWaits))))
	}
}

// answered tells a gateway that stands still with the same request what another
// answered, and may have it go on at once.
func (s *simulation) answered(w *httptest.ResponseRecorder) {
	if !s.redelivered {
		return
	}
	for _, g := range s.gateways {
		if d := g.delivery; d != nil && !d.again && g.still != nil {
			d.again, d.other = w.Code == http.StatusOK, w.Body.String()
			if s.company.IntN(2) == 0 {
				duplicate, left := s.duplicate, s.left
				g.goOn(false)
				s.duplicate, s.left = duplicate, left || s.left
			}
		}
	}
}
