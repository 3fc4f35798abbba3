package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/session"
)

// simGateway is one of the gateways of a programme: a machine with a clock of its
// own, that may stand still in the middle of its work, or be killed.
type simGateway struct {
	s       *simulation
	number  int
	cfg     *config.Config
	station *station
	remind  func(context.Context, time.Time) (bool, error)

	booted   time.Time     // when passed began to count
	skew     time.Duration // of its clock from the others'
	offset   time.Duration // how far it was put wrong
	released time.Time     // when everybody was gone through last
	learnt   time.Time     // when it learnt last

	lock   sync.Mutex
	strike *strike       // that waits for its moment
	still  chan struct{} // closed when it goes on; nil while it works
	doing  bool          // what it may be struck at
	dead   bool          // killed: nothing that it still does has any effect
	down   bool          // stopped, or killed
	late   bool          // it stood still, and ends what it was at
	left   chan struct{} // closed when that is done

	handed   []string     // to the carrier, and not settled yet
	struck   time.Time    // when it was last
	delivery *simDelivery // that it stands still with
}

// hasTwo reports whether a seed plays two gateways over one store, which are in
// memory: a database cannot stand in a bubble.
func hasTwo(seed uint64) bool {
	return seed%5 != 0 && slices.Contains([]uint64{0, 2, 3, 7}, seed%11)
}

// two reports whether this world has two gateways.
func (s *simulation) two() bool { return len(s.gateways) > 1 }

// running are the gateways that can be asked something.
func (s *simulation) running() (list []*simGateway) {
	for _, g := range s.gateways {
		if g.works() {
			list = append(list, g)
		}
	}
	return list
}

func (g *simGateway) works() bool {
	g.lock.Lock()
	defer g.lock.Unlock()
	return !g.down && !g.dead && g.still == nil
}

// route gives what comes next to one gateway or the other.
func (s *simulation) route() {
	if list := s.running(); s.two() && len(list) > 0 {
		s.simGateway = list[s.company.IntN(len(list))]
	}
}

// each lets every gateway that runs be looked at.
func (s *simulation) each(look func()) {
	asked := s.simGateway
	for _, g := range s.running() {
		s.simGateway = g
		look()
	}
	s.simGateway = asked
}

// setRight puts all clocks right.
func (s *simulation) setRight() {
	for _, g := range s.gateways {
		g.offset = 0
	}
}

// skews are how far the clocks of machines differ that somebody looks after.
var skews = []time.Duration{0, 0, time.Second, 3 * time.Second, 40 * time.Second, 2 * time.Minute, 3 * time.Minute}

// foundGateways makes the gateways that a seed has.
func (s *simulation) foundGateways(load func(number int) (*config.Config, error)) error {
	n := 1
	if hasTwo(s.seed) {
		n = 2
	}
	for number := range n {
		cfg, err := load(number)
		if err != nil {
			return err
		}
		s.gateways = append(s.gateways, &simGateway{s: s, number: number, cfg: cfg})
	}
	s.simGateway = s.gateways[0]
	if s.two() {
		late := s.gateways[s.company.IntN(2)]
		late.skew = -skews[s.company.IntN(len(skews))]
	}
	return nil
}

// tend has a gateway do what it does from time to time.
func (g *simGateway) tend() {
	ctx, st := context.Background(), g.station
	_, err := st.sweep(ctx)
	g.check("sweep", err)
	if g.s.two() {
		g.tendForAll(ctx)
	}
	if now := time.Now(); now.Sub(g.released) >= releaseEvery {
		g.released = now
		_, err := st.release(ctx)
		g.check("release", err)
	}
	if now := time.Now(); g.cfg.Programme.LearnUsual && now.Sub(g.learnt) >= g.station.learnLook() {
		g.learnt = now
		g.s.learns()
	}
}

// tendForAll does what one gateway does for all.
func (g *simGateway) tendForAll(ctx context.Context) {
	_, err := g.station.backupRound(ctx)
	g.check("back up", err)
	next, err := g.station.relearnt(ctx)
	if g.check("learn", err); next != nil {
		g.station, g.remind = next, next.remind()
	}
}

// onceForAll holds that of planned backups one is made a day, by whatever gateway, and
// that one was.
func (t *truth) onceForAll(s *simulation) {
	if !s.two() || s.plant.believes {
		return
	}
	var all []time.Time
	for _, g := range s.gateways {
		times, err := plannedBackups(g.cfg).list()
		if err != nil {
			s.wrong(ruleRest, "backups: %w", err)
		}
		all = append(all, times...)
	}
	slices.SortFunc(all, time.Time.Compare)
	for i := range all {
		killed := func(at time.Time) bool { return i > 0 && at.Sub(all[i-1]).Abs() < 2*session.ClocksApart } // before it could say so
		if i > 0 && all[i].Sub(all[i-1]) < 24*time.Hour-2*session.ClocksApart && !slices.ContainsFunc(s.kills, killed) {
			s.wrong(ruleInTime, "a backup was made at %s and one at %s", all[i-1], all[i])
		}
	}
	if n := len(all); n == 0 || time.Since(all[n-1]) > 26*time.Hour {
		s.wrong(ruleInTime, "of %d backups the last was made %s ago", n, time.Since(all[max(0, n-1)]))
	}
}

// round has a gateway's loops run once, and reports whether they did anything.
func (g *simGateway) round() (busy bool) {
	ctx, st := context.Background(), g.station
	more, err := g.remind(ctx, st.clock.Now())
	g.check("remind", err)
	_, err = st.feed.Round(ctx)
	g.check("feed the ledger", err)
	n, err := st.worker.Round(ctx)
	g.check("send", err)
	return n > 0 || more
}

// check holds that work does not fail, but where another was quicker.
func (g *simGateway) check(doing string, err error) {
	if err != nil && !errors.Is(err, session.ErrConflict) && !errors.Is(err, errKilled) {
		g.s.wrong(ruleRest, "%s: %w", doing, err)
	}
}

// askedOf names the gateway that is asked, where there are two.
func (s *simulation) askedOf() string {
	if !s.two() {
		return ""
	}
	return fmt.Sprintf("at %d, %s by its clock: ", s.number, s.station.clock.Now().UTC().Format("15:04:05.000"))
}
