package gateway

import (
	"strconv"
	"testing"
	"time"

	"threshline/session"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

func TestABucketSetKeepsABoundedNumberOfPhones(t *testing.T) {
	set := newBucketSet(100, Limit{Burst: 1, Every: time.Minute})
	for i := range 10_000 {
		if !set.allow(strconv.Itoa(i), noon) {
			t.Fatalf("phone %d was refused its first message", i)
		}
		if set.size() > 200 {
			t.Fatalf("%d buckets are held", set.size())
		}
	}
}

func TestAPhoneThatKeepsTalkingIsNotForgotten(t *testing.T) {
	set := newBucketSet(10, Limit{Burst: 1, Every: time.Hour})
	set.allow("loud", noon)
	for i := range 1000 {
		if set.allow("loud", noon) {
			t.Fatalf("forgotten after %d other phones", i)
		}
		set.allow(strconv.Itoa(i), noon)
	}
}

func TestAMessageMustPassEveryLimitAndTakesNothingWhenItDoesNot(t *testing.T) {
	set := newBucketSet(10, Limit{Burst: 10, Every: time.Second}, Limit{Burst: 2, Every: time.Hour})
	for i, want := range []bool{true, true, false, false, false} {
		if got := set.allow("phone", noon); got != want {
			t.Errorf("message %d: %v", i+1, got)
		}
	}
	if got := set.allow("phone", noon.Add(time.Hour)); !got {
		t.Error("an hour later there must be room for one")
	}
	if got := set.allow("phone", noon.Add(time.Hour)); got {
		t.Error("and for no more than one")
	}
}

func TestWhatIsGivenBackCanBeTakenAgainAndNoMore(t *testing.T) {
	set := newBucketSet(10, Limit{Burst: 3, Every: time.Hour}, Limit{Burst: 2, Every: 24 * time.Hour})
	take := func(want ...bool) {
		t.Helper()
		for i, w := range want {
			if got := set.allow("phone", noon); got != w {
				t.Errorf("message %d: %v, want %v", i+1, got, w)
			}
		}
	}
	take(true, true, false)
	set.giveBack("phone", noon)
	take(true, false)
	for range 10 {
		set.giveBack("phone", noon)
	}
	take(true, true, false)
}

func TestNoLimitLetsEverythingThrough(t *testing.T) {
	set := newBucketSet(10, Limit{}, Limit{Burst: 5})
	for range 1000 {
		if !set.allow("phone", noon) {
			t.Fatal("refused without a limit")
		}
	}
}

func TestMessagesWithoutAnIDAreTakenForOneOnlyInsideTheWindow(t *testing.T) {
	r := newRecent()
	key := func(phone session.Phone, text string, after time.Duration) string {
		return r.key("c", phone, "s", text, noon.Add(after), 5*time.Second, 7)
	}
	first := key("+33639980001", "1", 0)
	if got := key("+33639980001", "1", 5*time.Second); got != first {
		t.Error("at the end of the window: another key")
	}
	second := key("+33639980001", "1", 5*time.Second+1)
	if second == first {
		t.Error("after the window: the same key")
	}
	if got := key("+33639980001", "1", 8*time.Second); got != second {
		t.Error("inside the second's window: another key")
	}
	if key("+33639980001", "11", 0) == first || key("+33639980002", "1", 0) == first {
		t.Error("another text or phone: the same key")
	}
	// A clock set back a long way is not inside any window.
	if got := key("+33639980001", "1", -time.Hour); got == first || got == second {
		t.Error("an hour before: the same key")
	}
	for i := range 3 * recentKept {
		key("+33639980003", strconv.Itoa(i), 0)
	}
	if n := len(r.young) + len(r.old); n > 2*recentKept {
		t.Errorf("%d messages are remembered", n)
	}
}

func TestWhatMayBeANumberIsMasked(t *testing.T) {
	for text, want := range map[string]string{
		"disk of +33639980001 failed":   "disk of *** failed",
		"to 0033 6 39 98 00 01 at once": "to *** at once",
		"page 7 of 12":                  "page 7 of 12",
		"status 503":                    "status 503",
		"+44 7700-900-123":              "***",
	} {
		if got := masked(text); got != want {
			t.Errorf("%q became %q, want %q", text, got, want)
		}
	}
}

func TestIDsOfCarriersFitAsKeys(t *testing.T) {
	if got := bounded("abc-123"); got != "abc-123" {
		t.Errorf("a plain id became %q", got)
	}
	long := string(make([]byte, 60_000))
	a, b := bounded(long), bounded(long+"x")
	if a == b || len(a) > longestID || bounded(long) != a {
		t.Errorf("long ids became %q and %q", a, b)
	}
	if got := bounded("a\x00b"); got == "a\x00b" || len(got) > longestID {
		t.Errorf("a zero byte became %q", got)
	}
}

// size is how many buckets are held.
func (s *bucketSet) size() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.young) + len(s.old)
}
