package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"strconv"
	"sync/atomic"
	"time"

	"threshline/gateway/carrier"
	"threshline/gateway/gsm"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/store/mem"
	"threshline/session/talk"
	"threshline/session/wording"
)

// practice plays handsets against the real dialogue over a store of its own in
// memory: what is filed there is never seen by the programme, and is gone with
// the process.
type practice struct {
	store   *mem.Store
	machine *talk.Machine
	rounds  atomic.Uint64
}

func newPractice(p *programme.Programme, words *wording.Catalogue) *practice {
	return &practice{store: mem.New(mem.Options{KeepSent: time.Hour}), machine: screen.NewMachine(p, words)}
}

// sweepEach is after how many keys expired records are removed.
const sweepEach = 64

// Key sends what was keyed in and gives the screen.
func (p *practice) Key(ctx context.Context, whose string, kind session.Kind, event session.Event, text string) (session.Reply, error) {
	now := time.Now()
	if p.rounds.Add(1)%sweepEach == 0 {
		if _, err := p.store.Sweep(ctx, now, sweepEach*4); err != nil {
			return session.Reply{}, err
		}
	}
	phone := practiceNumber(whose)
	var bits [16]byte
	if _, err := rand.Read(bits[:]); err != nil {
		return session.Reply{}, err
	}
	in := session.Input{
		Channel: "practice", Star: kind == session.USSD, Kind: kind, Event: event, Phone: phone, Text: text, At: now,
		NetworkSession: "practice " + strconv.FormatInt(now.Unix()/int64(time.Hour/time.Second), 10),
		Entropy:        [2]uint64{binary.BigEndian.Uint64(bits[:8]), binary.BigEndian.Uint64(bits[8:])},
		Budget:         session.Budget{Septets: carrier.DefaultBudget, Count: gsm.Count},
	}
	out, err := p.store.Exchange(ctx, session.Key{Phone: phone}, func(v session.View) (session.Writes, error) {
		return p.machine.Step(v, in)
	})
	return out.Reply, err
}
