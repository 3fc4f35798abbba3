package storetest

import (
	"errors"
	"sync"
	"testing"
	"time"

	"threshline/session"
)

var lifeCases = []testCase{
	{"everything is there after reopening, and goes on", reopen},
	{"a closed engine says so, and closing again does nothing", closed},
	{"closing finishes what was taken", closing},
}

func reopen(t *testing.T, e Engine) {
	r, ok := e.(Reopener)
	if !ok {
		return // it keeps nothing
	}
	everything(t, r)
	key := session.Key{Phone: Phone(5), Duplicate: "valley-ussd 5", KeepUntil: Begin}
	must(r.Exchange(ctx, key, count(Phone(5), "before")))(t)
	held := claim(t, r, Begin.Add(time.Hour), 1, time.Hour)
	r = r.Reopen(t)
	if got, err := r.Exchange(ctx, key, count(Phone(5), "after")); err != nil || !got.Duplicate || got.Reply.Text != "before" {
		t.Errorf("delivered again after reopening: %+v, %v", got, err)
	}
	if d := dialogue(t, r, Phone(5)); d.Page != 1 {
		t.Errorf("page %d, want 1", d.Page)
	}
	k := Check(1, PersonID(1), PersonID(1))
	k.Version, k.Position = 1, 1
	same(t, "check", k, check(t, r, k.Slip))
	put(t, r, session.Writes{Checks: []session.Check{Check(2, PersonID(1), PersonID(1))}})
	if got := check(t, r, Slip(2)); got.Position != 2 {
		t.Errorf("the next position is %d, want 2", got.Position)
	}
	if again := claim(t, r, Begin.Add(time.Hour), 9, time.Hour); len(again) != 0 {
		t.Errorf("a lease did not outlive reopening: %v", ids(again))
	}
	held[0].State = session.HandedOn
	settle(t, r, held[0])
	if err := r.Verify(ctx); err != nil {
		t.Errorf("verify: %v", err)
	}
}

func closed(t *testing.T, e Engine) {
	for range 2 {
		if err := e.Close(); err != nil {
			t.Fatalf("close: %v", err)
		}
	}
	_, err := e.Exchange(ctx, session.Key{Phone: Phone(1)}, count(Phone(1), ""))
	wantErr(t, "exchange", err, session.ErrClosed)
	wantErr(t, "read", e.Read(ctx, func(session.View) error { return nil }), session.ErrClosed)
	_, err = e.Claim(ctx, Begin, 1, time.Minute)
	wantErr(t, "claim", err, session.ErrClosed)
	wantErr(t, "settle", e.Settle(ctx, Outgoing(1)), session.ErrClosed)
	_, err = e.Filed(ctx, 0, 1)
	wantErr(t, "filed", err, session.ErrClosed)
	_, err = e.Sweep(ctx, Begin, 1)
	wantErr(t, "sweep", err, session.ErrClosed)
	wantErr(t, "verify", e.Verify(ctx), session.ErrClosed)
}

// closing closes an engine that is busy: each exchange is either done, and
// there afterwards, or refused as closed.
func closing(t *testing.T, e Engine) {
	r, ok := e.(Reopener)
	if !ok {
		return // nothing could be looked at afterwards
	}
	const phones = 16
	var done [phones]int
	var all, first sync.WaitGroup
	first.Add(phones)
	for i := range phones {
		all.Go(func() {
			for {
				_, err := r.Exchange(ctx, session.Key{Phone: Phone(i)}, count(Phone(i), ""))
				if done[i] == 0 {
					first.Done()
				}
				if errors.Is(err, session.ErrClosed) {
					return
				}
				if err != nil {
					t.Errorf("exchange: %v", err)
					return
				}
				done[i]++
			}
		})
	}
	first.Wait()
	next := r.Reopen(t)
	all.Wait()
	for i := range phones {
		if got := dialogue(t, next, Phone(i)).Page; got != done[i] {
			t.Errorf("phone %d: %d exchanges acknowledged, %d stored", i, done[i], got)
		}
	}
}
