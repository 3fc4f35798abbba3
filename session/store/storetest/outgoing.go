package storetest

import (
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"threshline/session"
)

var outgoingCases = []testCase{
	{"due messages are handed out in due order, no more than asked for", dueOrder},
	{"a leased message is nobody else's until the lease ends", leaseEnds},
	{"only the last claim settles, and only once", lastClaimSettles},
	{"a message put off comes again when it is due", putOff},
	{"a message that would come too late is marked and not handed out", tooLate},
	{"a message of a clock that is set back since is due at once, in its place, and kept as long as it was to be", setBack},
	{"a message put off, or claimed, by a clock that is set back since comes again", setBackLater},
	{"a message that a right clock put off waits, whatever clock was set back", setBackLeaves},
	{"a message that a clock ahead made is put right once, and waits when it is put off afterwards", setBackOnce},
	{"many workers at once share the queue without a message twice", workers},
	{"messages are listed newest first, and counted by state", sentList},
	{"the queue's age is that of its first message", queueAge},
}

func queued(t *testing.T, e Engine, n int) {
	t.Helper()
	var w session.Writes
	for i := range n {
		w.Outgoing = append(w.Outgoing, Outgoing(n-1-i))
	}
	put(t, e, w)
}

func dueOrder(t *testing.T, e Engine) {
	queued(t, e, 10)
	if got := claim(t, e, Begin.Add(-time.Second), 99, time.Minute); len(got) != 0 {
		t.Errorf("before anything is due: %v", ids(got))
	}
	if got := ids(claim(t, e, Begin.Add(5*time.Second), 3, time.Minute)); !slices.Equal(got, []string{"m000000", "m000001", "m000002"}) {
		t.Errorf("first claim: %v", got)
	}
	if got := ids(claim(t, e, Begin.Add(5*time.Second), 99, time.Minute)); !slices.Equal(got, []string{"m000003", "m000004", "m000005"}) {
		t.Errorf("second claim: %v", got)
	}
	if got := claim(t, e, Begin.Add(time.Hour), 0, time.Minute); len(got) != 0 {
		t.Errorf("a claim of none: %v", ids(got))
	}
}

func leaseEnds(t *testing.T, e Engine) {
	queued(t, e, 1)
	first := claim(t, e, Begin, 9, time.Minute)
	if got := claim(t, e, Begin.Add(time.Minute-1), 9, time.Minute); len(got) != 0 {
		t.Errorf("handed out again before the lease ended: %v", ids(got))
	}
	second := claim(t, e, Begin.Add(time.Minute), 9, time.Minute)
	if len(first) != 1 || len(second) != 1 || first[0].Lease == second[0].Lease {
		t.Fatalf("claims %+v and %+v, want the message twice under two leases", first, second)
	}
	if !first[0].Claimed.Equal(Begin) || !second[0].Claimed.Equal(Begin.Add(time.Minute)) {
		t.Errorf("claimed at %s and %s", first[0].Claimed, second[0].Claimed)
	}
}

func lastClaimSettles(t *testing.T, e Engine) {
	queued(t, e, 1)
	wantErr(t, "message that nobody claimed", e.Settle(ctx, Outgoing(0)), session.ErrConflict)
	wantErr(t, "message that is not there", e.Settle(ctx, Outgoing(77)), session.ErrNotFound)
	first := claim(t, e, Begin, 1, time.Minute)[0]
	second := claim(t, e, Begin.Add(time.Hour), 1, time.Minute)[0]
	first.State, second.State = session.Dead, session.HandedOn
	wantErr(t, "the first claim", e.Settle(ctx, first), session.ErrConflict)
	second.Attempts, second.CarrierID, second.Changed = 1, "c1", Begin.Add(time.Hour)
	settle(t, e, second)
	wantErr(t, "a second time", e.Settle(ctx, second), session.ErrConflict)
	sent := must(e.Sent(ctx, session.Outgoing{}, 9))(t)
	second.Claimed = time.Time{} // it is not kept
	same(t, "sent", []session.Outgoing{second}, sent)
	if got := claim(t, e, Begin.Add(24*time.Hour), 9, time.Minute); len(got) != 0 {
		t.Errorf("a settled message was handed out: %v", ids(got))
	}
}

func putOff(t *testing.T, e Engine) {
	queued(t, e, 1)
	o := claim(t, e, Begin, 1, time.Minute)[0]
	o.Due, o.Attempts, o.Problem = Begin.Add(time.Hour), 1, "busy"
	settle(t, e, o)
	if got := claim(t, e, Begin.Add(time.Hour-1), 9, time.Minute); len(got) != 0 {
		t.Errorf("handed out too soon: %v", ids(got))
	}
	got := claim(t, e, Begin.Add(time.Hour), 9, time.Minute)
	if len(got) != 1 || got[0].Attempts != 1 || got[0].Problem != "busy" {
		t.Errorf("when due again: %+v", got)
	}
}

func tooLate(t *testing.T, e Engine) {
	late, inTime := Outgoing(1), Outgoing(2)
	late.Expires, inTime.Expires = Begin.Add(time.Minute), Begin.Add(time.Minute+1)
	put(t, e, session.Writes{Outgoing: []session.Outgoing{late, inTime}})
	if got := ids(claim(t, e, Begin.Add(time.Minute), 1, time.Minute)); !slices.Equal(got, []string{"m000002"}) {
		t.Errorf("claimed %v, want only the one in time", got)
	}
	counts, err := e.Counts(ctx)
	if err != nil || counts[session.Expired] != 1 || counts[session.Queued] != 1 {
		t.Errorf("counts %v, %v", counts, err)
	}
}

func workers(t *testing.T, e Engine) {
	const messages = 120
	queued(t, e, messages)
	var all sync.WaitGroup
	var mu sync.Mutex
	times := make(map[session.OutgoingID]int)
	for range 4 {
		all.Go(func() {
			for {
				list, err := e.Claim(ctx, Begin.Add(time.Hour), 7, time.Minute)
				if err != nil {
					t.Errorf("claim: %v", err)
					return
				}
				if len(list) == 0 {
					return
				}
				for _, o := range list {
					mu.Lock()
					times[o.ID]++
					mu.Unlock()
					o.State = session.HandedOn
					if err := e.Settle(ctx, o); err != nil {
						t.Errorf("settle: %v", err)
					}
				}
			}
		})
	}
	all.Wait()
	for id, n := range times {
		if n != 1 {
			t.Errorf("%s was handed out %d times", id, n)
		}
	}
	counts, err := e.Counts(ctx)
	if err != nil || len(times) != messages || counts[session.HandedOn] != messages {
		t.Errorf("%d messages handed out, counts %v, %v", len(times), counts, err)
	}
}

func sentList(t *testing.T, e Engine) {
	var w session.Writes
	for i := range 7 {
		o := Outgoing(i)
		o.Created = Begin.Add(time.Duration(i/2) * time.Minute)
		w.Outgoing = append(w.Outgoing, o)
	}
	put(t, e, w)
	var got []string
	var after session.Outgoing
	for o := range paged(t, 3, func() ([]session.Outgoing, error) { return e.Sent(ctx, after, 3) }) {
		after, got = o, append(got, string(o.ID))
	}
	want := []string{}
	for i := range 7 {
		want = append(want, fmt.Sprintf("m%06d", 6-i))
	}
	if !slices.Equal(want, got) {
		t.Errorf("listed %v, want %v", got, want)
	}
	if counts, err := e.Counts(ctx); err != nil || counts[session.Queued] != 7 || len(counts) != 1 {
		t.Errorf("counts %v, %v", counts, err)
	}
}

func queueAge(t *testing.T, e Engine) {
	age := func(now time.Time) time.Duration {
		return must(e.QueueAge(ctx, now))(t)
	}
	if got := age(Begin); got != 0 {
		t.Errorf("age of an empty queue: %v", got)
	}
	put(t, e, session.Writes{Outgoing: []session.Outgoing{Outgoing(10), Outgoing(30)}})
	for now, want := range map[time.Duration]time.Duration{5: 0, 10: 0, 25: 15, 100: 90} {
		if got := age(Begin.Add(now * time.Second)); got != want*time.Second {
			t.Errorf("age %d s after the beginning: %v, want %d s", now, got, want)
		}
	}
}
