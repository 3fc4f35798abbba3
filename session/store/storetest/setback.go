package storetest

import (
	"slices"
	"testing"
	"time"

	"threshline/session"
)

// ahead is what a clock may be ahead of the right one.
const ahead = 4 * 365 * 24 * time.Hour

// ofAhead is a message as it is made by a clock that is ahead.
func ofAhead(i int) session.Outgoing {
	o := Outgoing(i)
	o.Created, o.Due, o.Changed, o.Expires = o.Created.Add(ahead), o.Due.Add(ahead), o.Created.Add(ahead), o.Created.Add(ahead+24*time.Hour)
	return o
}

func putBack(t *testing.T, e Engine, now time.Time) {
	t.Helper()
	if err := e.SetBack(ctx, now, time.Minute); err != nil {
		t.Fatal(err)
	}
	if err := e.Verify(ctx); err != nil {
		t.Error(err)
	}
}

func setBack(t *testing.T, e Engine) {
	put(t, e, session.Writes{Outgoing: []session.Outgoing{ofAhead(2), ofAhead(1), ofAhead(3)}})
	now := Begin.Add(time.Hour)
	if got := claim(t, e, now, 9, time.Minute); len(got) != 0 {
		t.Fatalf("before: %v", ids(got))
	}
	putBack(t, e, now)
	var got []string
	for range 3 {
		one := claim(t, e, now, 1, time.Minute)
		got = append(got, ids(one)...)
		if len(one) == 1 && !one[0].Expires.Round(time.Second).Equal(now.Add(24*time.Hour)) {
			t.Errorf("%s expires at %s", one[0].ID, one[0].Expires)
		}
	}
	if !slices.Equal(got, []string{"m000001", "m000002", "m000003"}) {
		t.Errorf("claimed %v", got)
	}
}

func setBackLater(t *testing.T, e Engine) {
	queued(t, e, 2)
	both := claim(t, e, Begin.Add(ahead), 2, time.Minute)
	off := both[0]
	off.Due, off.Changed, off.Attempts = Begin.Add(ahead+time.Hour), Begin.Add(ahead), 1
	settle(t, e, off)
	now := Begin.Add(time.Hour)
	putBack(t, e, now)
	if got := ids(claim(t, e, now, 9, time.Minute)); !slices.Equal(got, []string{string(off.ID)}) {
		t.Errorf("claimed %v, want what was put off", got)
	}
	if got := ids(claim(t, e, now.Add(time.Minute), 9, time.Minute)); !slices.Contains(got, string(both[1].ID)) {
		t.Errorf("claimed %v, want what was claimed", got)
	}
}

func setBackLeaves(t *testing.T, e Engine) {
	queued(t, e, 2)
	both := claim(t, e, Begin.Add(time.Minute), 2, time.Hour)
	off, underway := both[0], both[1]
	off.Due, off.Changed = Begin.Add(24*time.Hour), Begin.Add(time.Minute)
	settle(t, e, off)
	putBack(t, e, Begin.Add(2*time.Minute))
	if got := claim(t, e, Begin.Add(2*time.Minute), 9, time.Minute); len(got) != 0 {
		t.Errorf("claimed %v, want none", ids(got))
	}
	underway.State, underway.Changed = session.HandedOn, Begin.Add(2*time.Minute)
	settle(t, e, underway) // the claim was made shorter, and is still the last
	if got := ids(claim(t, e, Begin.Add(24*time.Hour), 9, time.Minute)); !slices.Equal(got, []string{string(off.ID)}) {
		t.Errorf("a day later: %v", got)
	}
}

func setBackOnce(t *testing.T, e Engine) {
	put(t, e, session.Writes{Outgoing: []session.Outgoing{ofAhead(1), Outgoing(2)}})
	now := Begin.Add(time.Hour)
	putBack(t, e, now)
	sent, err := e.Sent(ctx, session.Outgoing{}, 9)
	if err != nil || len(sent) != 2 || sent[0].ID != ofAhead(1).ID || sent[0].Created.After(now) {
		t.Errorf("put right is %+v, %v", sent, err)
	}
	for _, o := range claim(t, e, now, 9, time.Minute) {
		o.Due, o.Changed = now.Add(12*time.Hour), now // until the night is over
		settle(t, e, o)
	}
	putBack(t, e, now.Add(time.Hour)) // as every start does
	if got := ids(claim(t, e, now.Add(time.Hour), 9, time.Minute)); len(got) != 0 {
		t.Errorf("claimed %v before its time", got)
	}
	swept := now.Add(12 * time.Hour)
	for _, o := range claim(t, e, swept, 9, time.Minute) {
		o.State, o.Changed = session.HandedOn, swept
		settle(t, e, o)
	}
	for range 3 {
		swept = swept.Add(KeepSent)
		must(e.Sweep(ctx, swept, 99))(t)
	}
	if sent, err := e.Sent(ctx, session.Outgoing{}, 9); err != nil || len(sent) != 0 {
		t.Errorf("kept for longer than messages are: %+v, %v", sent, err)
	}
}
