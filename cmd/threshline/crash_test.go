package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/journal"
)

// phonesAtOnce is how many phones talk to the program.
const phonesAtOnce = 220

// countOr is a number that the environment gives, or the usual one.
func countOr(name string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return usual
}

// TestNothingAcknowledgedIsLostWhenTheProgramIsKilled has hundreds of phones
// talk to the real program, kills it again and again at a random moment, and
// looks into the store it left each time. What the phones are told is held
// against the same dialogue in memory, which nobody kills. Meanwhile the disk
// loses bits of the journal, and the clock jumps years ahead and back.
func TestNothingAcknowledgedIsLostWhenTheProgramIsKilled(t *testing.T) {
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	carrier := newCarrierStub(t, rand.New(rand.NewPCG(seed, 2)))
	site := newSite(t, buildJumping(t), carrier.address())
	town := newTown(phonesAtOnce)
	phones := settle(t, town, carrier, seed)

	kills := countOr("KILLS", programKills)
	for kill := range kills {
		run := site.start(t)
		if kill < 3 || random.IntN(6) == 0 {
			<-time.After(time.Duration(random.IntN(60)) * time.Millisecond) // while it starts, or makes its store
		} else {
			run.ready(t)
			town.move(run.address)
			if random.IntN(3) == 0 {
				site.setClock(t, "35040h")
			}
			town.answered(1 + random.IntN(250))
			town.move("")
		}
		run.kill(t)
		town.quiet()
		site.setClock(t, "0s")
		if random.IntN(3) == 0 {
			loseBit(t, filepath.Join(site.dir, "threshline.journal"), random)
		}
		if t.Failed() {
			t.Fatalf("after kill %d", kill+1)
		}
		examine(t, site, phones, false)
	}
	run := site.start(t)
	run.ready(t)
	town.update(func() { town.over = true })
	town.move(run.address)
	town.await(func() bool { return town.left == town.phones })
	run.stop(t)
	examine(t, site, phones, true)
	compareWithUnkilled(t, site, phones)
	emptyTheQueue(t, site, carrier, phones)
	openBackups(t, site)
	rebuildAll(t, site)
	holdLog(t, site.log.String(), phones)
	t.Logf("%d exchanges answered, %d kills", town.acks, kills)
}

// setClock has the clock of a run be further by so much.
func (s *site) setClock(t *testing.T, by string) {
	t.Helper()
	part := s.clock() + ".part"
	if err := os.WriteFile(part, []byte(by), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(part, s.clock()); err != nil {
		t.Fatal(err)
	}
}

// journalHead is how long a journal without a record is.
const journalHead = len("threshline journal 1\n") + journal.IDSize

// loseBit changes one bit of a journal that has records. A head alone bears the loss of
// two bits, and run after run may take one.
func loseBit(t *testing.T, path string, random *rand.Rand) {
	t.Helper()
	data, err := os.ReadFile(path)
	if os.IsNotExist(err) || err == nil && len(data) <= journalHead {
		return
	}
	if err == nil {
		data[random.IntN(len(data))] ^= 1 << random.IntN(8)
		err = os.WriteFile(path, data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// settle makes the phones and sets them talking.
func settle(t *testing.T, town *town, carrier *carrierStub, seed uint64) (phones []*phone) {
	t.Helper()
	for i := range town.phones {
		kind := session.USSD
		if i%4 == 3 {
			kind = session.SMS
		}
		post := ownLine()
		t.Cleanup(post.CloseIdleConnections)
		p := &phone{
			number: session.Phone(fmt.Sprintf("+3363998%04d", i)), kind: kind, town: town, post: post, carry: carrier,
			random: rand.New(rand.NewPCG(seed, uint64(100+i))),
		}
		phones = append(phones, p)
		go p.live(t)
	}
	return phones
}

// examine looks at the store that a run left behind: its own check of itself
// passes, every check that was answered is there, and none twice. After a
// clean end nothing is there but what was answered.
func examine(t *testing.T, s *site, phones []*phone, clean bool) {
	t.Helper()
	if _, err := os.Stat(s.store()); os.IsNotExist(err) {
		return // killed before it made one
	}
	ctx := context.Background()
	if err := bolt.VerifyFile(ctx, s.store()); err != nil {
		t.Fatal(err)
	}
	store := openCopy(t, s)
	defer store.Close()
	err := store.Read(ctx, func(v session.View) error {
		for _, p := range phones {
			if err := p.examine(v, clean); err != nil {
				return fmt.Errorf("%v: %w", p.number, err)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// openCopy opens a copy of the store as it lies there.
func openCopy(t *testing.T, s *site) *bolt.Store {
	t.Helper()
	data, err := os.ReadFile(s.store())
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(s.dir, "copy.db")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	store, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return store
}

// examine holds one phone's checks against what it was told.
func (p *phone) examine(v session.View, clean bool) error {
	person, err := v.PersonByPhone(p.number)
	if err != nil && p.checks == 0 {
		return nil // it has not got so far
	}
	if err != nil {
		return err
	}
	checks, err := v.ChecksBy(person.ID, 1<<20)
	if err != nil {
		return err
	}
	most := p.checks
	if p.pending && !clean {
		most++ // stored, but killed before the answer was out
	}
	if len(checks) < p.checks || len(checks) > most {
		return fmt.Errorf("%d checks are filed, %d were acknowledged; an entry waits: %v; last sent %q, answered %q",
			len(checks), p.checks, p.pending, p.sent[max(0, len(p.sent)-4):], p.replies[max(0, len(p.replies)-4):])
	}
	for i, reply := range p.replies {
		if m := slipShown.FindStringSubmatch(reply); m != nil {
			k, err := v.Check(session.Slip(m[1]))
			if err != nil {
				return err
			}
			if k.State != session.Filed || k.Reporter != person.ID || k.Grade != "II" || k.Lot.Bags != 8 {
				return fmt.Errorf("slip %s is not as it was told: %+v\n%q\n%q", m[1], k, p.sent[max(0, i-12):i+1], p.replies[max(0, i-12):i+1])
			}
		}
	}
	return nil
}

// ownLine is a connection for one phone. Phones that share theirs open more than they
// need, and the program shuts one over which nobody said anything for seconds, perhaps
// just when a phone takes it.
func ownLine() *http.Client {
	return &http.Client{Transport: &http.Transport{MaxConnsPerHost: 1}, Timeout: patience}
}
