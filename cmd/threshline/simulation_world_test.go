package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/mem"
)

// simulation is a whole programme in one process: the station with its store,
// queue, loops and desk, a carrier, and people who talk to it. All that happens
// follows from the seed, under a clock that nobody waits for: it lives in a
// bubble of testing/synctest, in which a sleep takes no time.
type simulation struct {
	seed   uint64
	random *rand.Rand
	plant  *plant // the fault that was put back

	dir    string
	memory *mem.Store  // outlives a stop where the engine is memory
	file   *bolt.Store // else

	*simGateway               // that is asked
	gateways    []*simGateway // one, or two over one store
	company     *rand.Rand    // decides what only two gateways can do
	disturbed   time.Time     // when a gateway was last struck, or went on
	kills       []time.Time   // when gateways were struck that were killed
	redelivered bool          // the last request went to the other gateway too
	jumped      bool          // a clock was ever wrong
	log         logged

	carrier *simCarrier
	people  []*simPerson
	truth   *truth

	more      bool // the last answer by USSD asks for another
	duplicate bool // the last exchange's message had come before
	talking   bool // a person's message is being answered
	left      bool // and it had somebody forgotten
	strangers int

	committed time.Time // of the store in memory
	stamp     func() time.Time

	lock   sync.Mutex
	said   []string // what happened last
	digest uint64   // of all that happened
	steps  int

	happened *tally
	problem  error // what was first seen to be wrong

	single     bool // nothing else runs
	goroutines int  // after the first step
	leaked     [][]byte
	over       chan struct{} // closed at the end
}

// lastSaid is how much of what happened a failure shows.
const lastSaid = 600

// simulate plays a seed, and returns a digest of all that happened; the error
// says what did not hold. It must run in a bubble.
func simulate(seed uint64, onDisk bool, dir string, steps int, p *plant, happened *tally, single bool) (digest uint64, err error) {
	if p == nil {
		p = &plant{}
	}
	s := &simulation{seed: seed, random: rand.New(rand.NewPCG(seed, 20261005)), plant: p, dir: dir, happened: happened, single: single, over: make(chan struct{})}
	s.company = rand.New(rand.NewPCG(seed, 20270109))
	defer close(s.over)
	defer s.leaveNone()
	time.Sleep(time.Until(s.begins()))
	if hasTwo(seed) {
		s.memory = mem.New(mem.Options{Clock: time.Now})
	} else if !onDisk {
		s.memory = mem.New(mem.Options{})
	}
	if err := s.found(); err != nil {
		return 0, err
	}
	for s.steps = 0; s.steps < steps && s.problem == nil; s.steps++ {
		s.befall()
		s.step()
		s.settle()
		s.truth.look(s)
	}
	if s.problem == nil {
		s.truth.atTheEnd(s)
	}
	if s.problem == nil && s.single {
		s.memoryReturns()
	}
	if err := s.station.close(); err != nil && s.problem == nil {
		s.problem = err
	}
	if s.problem != nil {
		return s.digest, fmt.Errorf("step %d: %w\n%s", s.steps, s.problem, strings.Join(s.said, "\n"))
	}
	return s.digest, nil
}

// begins is a Tuesday; some weeks after it the clocks are set where there is summer
// time, in every second run by an hour ahead.
func (s *simulation) begins() time.Time {
	if s.seed%2 == 0 {
		return time.Date(2027, 3, 9, 5, 0, 0, 0, time.UTC)
	}
	return time.Date(2026, 10, 6, 5, 0, 0, 0, time.UTC)
}

// zones are where programmes are, with and without summer time.
var zones = []string{"UTC", "Europe/Paris", "Africa/Dar_es_Salaam"}

// note writes down what happened.
func (s *simulation) note(format string, args ...any) {
	line := fmt.Sprintf(format, args...)
	h := fnv.New64a()
	fmt.Fprint(h, s.digest, line)
	s.digest = h.Sum64()
	if s.said = append(s.said, time.Now().UTC().Format("01-02 15:04:05 ")+line); len(s.said) > lastSaid {
		s.said = s.said[1:]
	}
}

// wrong says that a rule does not hold; the first is what counts.
func (s *simulation) wrong(broken rule, format string, args ...any) {
	if s.problem == nil && broken != s.plant.without {
		s.problem = &breach{broken, fmt.Errorf(format, args...)}
	}
}

// chance is true in one of n cases.
func (s *simulation) chance(n int) bool { return s.random.IntN(n) == 0 }

// found sets the programme up: its configuration, its people, its first start.
func (s *simulation) found() error {
	text, err := os.ReadFile("../../testdata/simulation/valley.toml")
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(s.dir, "token"), []byte(valleyToken), 0o600); err != nil {
		return err
	}
	if hasTwo(s.seed) {
		text = append(text, "\n[backup]\nevery = \"24h\"\nkeep = 1000\ndir = \"backups-NUMBER\"\n"...)
	}
	text = bytes.Replace(text, []byte("currency ="), fmt.Appendf(nil, "time_zone = %q\ncurrency =", zones[s.seed%uint64(len(zones))]), 1)
	err = s.foundGateways(func(number int) (*config.Config, error) {
		path := filepath.Join(s.dir, fmt.Sprintf("valley-%d.toml", number))
		if err := os.WriteFile(path, bytes.ReplaceAll(text, []byte("NUMBER"), fmt.Append(nil, number)), 0o600); err != nil {
			return nil, err
		}
		return config.Load(path)
	})
	if err != nil {
		return err
	}
	s.carrier = &simCarrier{s: s, tried: map[string]int{}, known: map[string]int{}}
	s.truth = newTruth()
	for _, g := range s.gateways {
		s.simGateway = g
		s.cfg.Programme.LearnUsual = newer(s.seed) && !s.two()
		if err := s.start(); err != nil {
			return err
		}
	}
	if err := s.settlePeople(); err != nil {
		return err
	}
	return s.lastSeason()
}

// outside is what the station takes from the machine: all of it from the seed.
func (s *simulation) outside() outside {
	g := s.simGateway
	return outside{
		// Sleeps are of whole seconds, but no two clocks agree to the nanosecond.
		wall: func() time.Time { return time.Now().Add(g.skew + g.offset + time.Duration(g.number)).Round(0) },
		passed: func() time.Duration {
			if s.plant.believes {
				return time.Since(g.booted) + g.offset
			}
			return time.Since(g.booted)
		},
		entropy: &seededReader{random: rand.New(rand.NewPCG(s.seed, s.random.Uint64()))},
		spread:  func() float64 { return 0.5 },
		client:  &http.Client{Transport: simWay{g}},
	}
}

// start opens the store and begins a station on it, as a start of the program.
func (s *simulation) start() error {
	s.booted, s.leaked = time.Now(), nil
	if s.plant.unlimited {
		for i := range s.cfg.Channels {
			if s.cfg.Channels[i].Send != nil {
				s.cfg.Channels[i].Send.DailyLimit = 0
			}
		}
	}
	station, err := newStation(s.cfg, s.outside(), zerolog.New(&s.log))
	if err != nil {
		return err
	}
	var store engine
	if s.two() {
		store = sharedEngine{memoryEngine{s.memory, s}, s.simGateway}
	} else if s.memory != nil {
		store = memoryEngine{s.memory, s}
	} else {
		if s.file, err = bolt.Open(s.cfg.StorePath(), s.storeOptions()); err != nil {
			return err
		}
		store = diskEngine{s.file, s}
	}
	if err := station.begin(store); err != nil {
		return err
	}
	s.station, s.remind = station, station.remind()
	if s.plant.station != nil {
		s.plant.station(s)
	}
	s.released, s.learnt = time.Now(), time.Now()
	return nil
}

// pass lets time go by, with all loops at work in it.
func (s *simulation) pass(d time.Duration) {
	for d > 0 && s.problem == nil {
		part := min(d, time.Hour)
		time.Sleep(part)
		d -= part
		s.settle()
	}
}

// settle runs the loops of all gateways until there is nothing to do now.
func (s *simulation) settle() {
	for _, g := range s.running() {
		s.simGateway = g
		g.do(g.tend)
	}
	for range 5000 {
		busy := false
		for _, g := range s.running() {
			s.simGateway = g
			if struck := !g.do(func() { busy = g.round() || busy }) || g.dead; struck {
				busy = true // the other has its work
			}
		}
		synctest.Wait()
		if busy {
			continue
		}
		s.route()
		age, err := s.station.store.QueueAge(context.Background(), s.queueClock())
		if s.check("look at the queue", err); age <= 0 || s.problem != nil {
			return
		}
		time.Sleep(workEvery) // the carrier is given a rest
	}
	s.wrong(ruleRest, "the loops find no rest: %v", s.queued())
}

// queueClock is the clock that messages go out by: the store's where it has one.
func (s *simulation) queueClock() time.Time {
	if s.two() {
		return time.Now()
	}
	return s.station.clock.Now()
}

// queued lists what waits to go out.
func (s *simulation) queued() (waiting []session.Outgoing) {
	sent, _ := s.station.store.Sent(context.Background(), session.Outgoing{}, 1000)
	return slices.DeleteFunc(sent, func(o session.Outgoing) bool { return o.State != session.Queued })
}

// stop ends the station and begins it anew after a while, in which nothing runs.
func (s *simulation) stop(away time.Duration) {
	s.note("stop for %s", away)
	s.happened.add("stop")
	s.allWork()
	g := s.simGateway
	if err := s.station.close(); err != nil {
		s.wrong(ruleRest, "stop: %w", err)
		return
	}
	if g.down = s.two(); g.down { // the other goes on
		s.route()
		s.pass(away)
		s.simGateway, g.down = g, false
	} else {
		time.Sleep(away)
	}
	if err := s.start(); err != nil {
		s.wrong(ruleRest, "start: %w", err)
	}
}

// read looks into the store.
func (s *simulation) read(fn func(session.View) error) {
	var store interface {
		Read(context.Context, func(session.View) error) error
	} = s.station.store
	if s.two() { // by no gateway's way
		store = s.memory
	}
	if err := store.Read(context.Background(), fn); err != nil && !errors.Is(err, session.ErrNotFound) {
		s.wrong(ruleRest, "read: %w", err)
	}
}

// seededReader gives random bits that follow from a seed.
type seededReader struct{ random *rand.Rand }

func (r *seededReader) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(r.random.Uint32())
	}
	return len(p), nil
}
