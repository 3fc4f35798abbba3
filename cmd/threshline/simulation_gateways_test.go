package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"testing/synctest"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/gateway/dispatch"
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

	lock   sync.Mutex
	strike *strike       // that waits for its moment
	still  chan struct{} // closed when it goes on; nil while it works
	dead   bool          // killed: nothing that it still does has any effect
	down   bool          // stopped, or killed
	late   bool          // it stood still, and ends what it was at
	left   chan struct{} // closed when that is done
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

// mostSkew is the most that two gateways' clocks differ.
const mostSkew = 5 * time.Minute

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
	if now := time.Now(); now.Sub(g.released) >= releaseEvery {
		g.released = now
		_, err := st.release(ctx)
		g.check("release", err)
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

// sharedEngine is a gateway's way to the store that all have.
type sharedEngine struct {
	memoryEngine
	g *simGateway
}

var _ common = sharedEngine{}

// crossed asks the store something, on the way to which and back a gateway may be
// struck.
func crossed[T any](g *simGateway, doing string, ask func() (T, error)) (answer T, err error) {
	if err := g.cross(doing); err != nil {
		return answer, err
	}
	answer, err = ask()
	if err := g.cross(doing + " done"); err != nil {
		return answer, err
	}
	return answer, err
}

func (e sharedEngine) did(doing string, do func() error) error {
	_, err := crossed(e.g, doing, func() (struct{}, error) { return struct{}{}, do() })
	return err
}

// Exchange implements engine. A gateway may also be struck between what it reads
// and what it writes.
func (e sharedEngine) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	stale := false // what was written was made of what another has changed since
	out, err := crossed(e.g, "exchange", func() (session.Outcome, error) {
		return e.memoryEngine.Exchange(ctx, key, func(v session.View) (w session.Writes, err error) {
			d, err := v.Dialogue(key.Phone)
			if err != nil {
				return w, err
			}
			if w, err = turn(v); err != nil {
				return w, err
			}
			if err := e.g.cross("turn"); err != nil {
				return w, err
			}
			err = e.Store.Read(ctx, func(now session.View) error {
				is, err := now.Dialogue(key.Phone)
				stale = is.Version != d.Version
				return err
			})
			return w, err
		})
	})
	if err == nil && stale && !out.Duplicate && key.Phone != "" {
		e.s.wrong(ruleOne, "what %s says at one gateway is answered without what it said at another", key.Phone)
	}
	return out, err
}

func (e sharedEngine) Read(ctx context.Context, fn func(session.View) error) error {
	return e.did("read", func() error { return e.memoryEngine.Read(ctx, fn) })
}

func (e sharedEngine) Claim(ctx context.Context, now time.Time, n int, lease time.Duration) ([]session.Outgoing, error) {
	return crossed(e.g, "claim", func() ([]session.Outgoing, error) { return e.memoryEngine.Claim(ctx, now, n, lease) })
}

func (e sharedEngine) Settle(ctx context.Context, o session.Outgoing) error {
	return e.did("settle", func() error { return e.memoryEngine.Settle(ctx, o) })
}

func (e sharedEngine) Due(ctx context.Context, now time.Time, n int) ([]session.Reminder, error) {
	return crossed(e.g, "due", func() ([]session.Reminder, error) { return e.memoryEngine.Due(ctx, now, n) })
}

func (e sharedEngine) Filed(ctx context.Context, after uint64, n int) ([]session.Check, error) {
	return crossed(e.g, "filed", func() ([]session.Check, error) { return e.memoryEngine.Filed(ctx, after, n) })
}

func (e sharedEngine) People(ctx context.Context, after session.PersonID, n int) ([]session.Person, error) {
	return crossed(e.g, "people", func() ([]session.Person, error) { return e.memoryEngine.People(ctx, after, n) })
}

func (e sharedEngine) Sweep(ctx context.Context, now time.Time, n int) (int, error) {
	return crossed(e.g, "sweep", func() (int, error) { return e.memoryEngine.Sweep(ctx, now, n) })
}

func (e sharedEngine) Begin(ctx context.Context, work string, every, within time.Duration) (session.Lease, error) {
	return crossed(e.g, "begin", func() (session.Lease, error) { return e.Store.Begin(ctx, work, every, within) })
}

func (e sharedEngine) End(ctx context.Context, l session.Lease, done bool, result []byte) error {
	return e.did("end", func() error { return e.Store.End(ctx, l, done, result) })
}

func (e sharedEngine) Result(ctx context.Context, work string) ([]byte, error) {
	return crossed(e.g, "result", func() ([]byte, error) { return e.Store.Result(ctx, work) })
}

func (e sharedEngine) Spend(ctx context.Context, channel, part string, day time.Time, segments, most int, must bool) (spent int, taken, first bool, err error) {
	err = e.did("spend", func() (err error) {
		spent, taken, first, err = e.Store.Spend(ctx, channel, part, day, segments, most, must)
		return err
	})
	return spent, taken, first, err
}

func (e sharedEngine) LastCommit(ctx context.Context) (time.Time, error) {
	return e.Store.LastCommit(ctx)
}

// simWay is a gateway's way to the carrier.
type simWay struct{ g *simGateway }

// RoundTrip implements http.RoundTripper.
func (w simWay) RoundTrip(r *http.Request) (*http.Response, error) {
	g, c := w.g, w.g.s.carrier
	if !g.s.two() {
		return c.RoundTrip(r)
	}
	if err := g.cross("call"); err != nil {
		return nil, err
	}
	if err := r.Context().Err(); err != nil {
		return nil, err
	}
	before := len(c.sent)
	answer, err := c.RoundTrip(r)
	if gone := g.cross("called"); gone != nil || g.late {
		c.nobodyKnows(before)
		if gone != nil {
			return nil, gone
		}
	}
	return answer, err
}

// nobodyKnows notes that the gateway that handed texts on stood still or was killed
// meanwhile, so that another may have handed them on too.
func (c *simCarrier) nobodyKnows(from int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for i := from; i < len(c.sent); i++ {
		if !c.sent[i].unknown {
			c.known[c.sent[i].ref]--
		}
		c.sent[i].unknown = true
	}
}

var _ dispatch.Purse = sharedEngine{}

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
	if k := g.strike; k != nil && (k.at == "" || k.at == doing) && !g.dead {
		if k.n--; k.n <= 0 {
			g.strike = nil
			g.s.note("gateway %d is struck at: %s, killed: %v", g.number, doing, k.kill)
			if g.dead = k.kill; !k.kill {
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
	go func() {
		defer close(over)
		work()
	}()
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

// askedOf names the gateway that is asked, where there are two.
func (s *simulation) askedOf() string {
	if !s.two() {
		return ""
	}
	return fmt.Sprintf("at %d, %s by its clock: ", s.number, s.station.clock.Now().UTC().Format("15:04:05.000"))
}
