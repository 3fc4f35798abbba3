package gateway

import (
	"testing"
	"time"
)

// A flood of one kind is one line a second with a count, and hides no other kind;
// a clock that goes back silences nothing.
func TestAFloodOfRefusalsIsALineASecond(t *testing.T) {
	var r repeats
	at := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	lines := 0
	for i := range 10_000 {
		if _, ok := r.say("valley limit", at.Add(time.Duration(i)*100*time.Microsecond)); ok { // one second in all
			lines++
		}
	}
	if lines != 1 {
		t.Errorf("%d lines in a second", lines)
	}
	if _, ok := r.say("valley guard", at); !ok {
		t.Error("another kind is hidden")
	}
	if n, ok := r.say("valley limit", at.Add(time.Second)); !ok || n != 9_999 {
		t.Errorf("left out %d, written %v", n, ok)
	}
	if n, ok := r.say("valley limit", at.Add(-time.Hour)); !ok || n != 0 {
		t.Errorf("after the clock went back: left out %d, written %v", n, ok)
	}
}
