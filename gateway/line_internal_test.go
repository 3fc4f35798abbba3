package gateway

import (
	"testing"
	"time"
)

// Who gives up waiting lets those behind move on, in their order, and a line in
// which nobody stands is not kept.
func TestALineMovesOnAndEnds(t *testing.T) {
	const phone = "+33639980001"
	var l lines
	first, second, third := l.enter(phone), l.enter(phone), l.enter(phone)
	if !first.comes(0) || second.comes(0) || third.comes(0) {
		t.Fatal("not the first alone has its turn")
	}
	if other := l.enter("+33639980002"); !other.comes(0) {
		t.Error("another phone waits")
	}
	l.leave(phone, second) // gave up
	if third.comes(0) {
		t.Error("the third came before the first was done")
	}
	l.leave(phone, first)
	if !third.comes(time.Minute) {
		t.Error("the third never came")
	}
	l.leave(phone, third)
	if _, kept := l.of[phone]; kept || len(l.of) != 1 {
		t.Errorf("%d lines are kept", len(l.of))
	}
}
