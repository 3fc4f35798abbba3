package desk_test

import (
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"threshline/gateway/desk"
	"threshline/session"
	"threshline/session/ledger"
)

// later keeps work for when the test does it.
type later struct {
	mu   sync.Mutex
	work []func()
}

func (l *later) aside(work func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.work = append(l.work, work)
}

// do does all that was kept, and says how much it was.
func (l *later) do() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, work := range l.work {
		work()
	}
	n := len(l.work)
	l.work = nil
	return n
}

// TestAPageDoesNotWaitForWhatTakesLong asks for pages while what they show is
// not reckoned: they say so, and show it when it is.
func TestAPageDoesNotWaitForWhatTakesLong(t *testing.T) {
	var slow later
	ended := make(chan time.Time)
	close(ended)
	h := newHouse(t, func(c *desk.Config) {
		c.Enough, c.Aside = func() <-chan time.Time { return ended }, slow.aside
	})
	h.people()
	h.put(session.Writes{Checks: []session.Check{h.check(0, "Kisima", reading(152, 40, 1))}})
	admin := h.administrator()
	for _, page := range []struct {
		path, want string
		reckoned   int
	}{ // each with a filter of its own, of which nothing is kept; findings are of the whole programme
		{"/desk/findings?state=any", "What was looked at", 1},
		{"/desk/?kind=first", "Lots at hand.", 1},
		{"/desk/what-if?kind=last", "Most worth doing: ", 1},
		{"/desk/report?district=Kisima", "Lots at hand.", 1},
	} {
		for range 2 { // the second does not begin it again
			a := admin.get(page.path)
			if a.Status != http.StatusOK || strings.Contains(a.Body, page.want) || !strings.Contains(a.Body, "being reckoned") || a.Header.Get("Refresh") == "" {
				t.Errorf("%s before it is reckoned: status %d, refresh %q", page.path, a.Status, a.Header.Get("Refresh"))
			}
		}
		if n := slow.do(); n != page.reckoned {
			t.Errorf("%s asked for twice began %d times, want %d", page.path, n, page.reckoned)
		}
		a := admin.get(page.path)
		if a.Status != http.StatusOK || !strings.Contains(a.Body, page.want) || strings.Contains(a.Body, "being reckoned") || a.Header.Get("Refresh") != "" {
			t.Errorf("%s after it was reckoned: status %d, refresh %q", page.path, a.Status, a.Header.Get("Refresh"))
		}
		if n := slow.do(); n != 0 {
			t.Errorf("%s was reckoned again %d times though no check came", page.path, n)
		}
	}
}

// TestALargeLedgerShowsWhatWasReckonedBefore asks for a what-if of many checks
// again when more have come: it shows the one there is and says of when.
func TestALargeLedgerShowsWhatWasReckonedBefore(t *testing.T) {
	var slow later
	ended := make(chan time.Time)
	close(ended)
	var ahead ledger.WhatIf
	h := newHouse(t, func(c *desk.Config) {
		c.Enough, c.Aside = func() <-chan time.Time { return ended }, slow.aside
		c.Ahead = func() (ledger.WhatIf, time.Time, bool) { return ahead, begin, ahead.Lots > 0 }
	})
	admin := h.hundredThousand()
	if a := admin.get("/desk/what-if"); !strings.Contains(a.Body, "being reckoned") || slow.do() != 1 {
		t.Error("nothing was reckoned ahead, and the page does not wait")
	}
	ahead.Lots = 1234
	if a := admin.get("/desk/what-if"); !strings.Contains(a.Body, "1234 lots were graded") || !strings.Contains(a.Body, "As of 07:30;") || slow.do() != 0 {
		t.Error("what was reckoned ahead is not shown, or reckoned again")
	}
	const path = "/desk/what-if?village=Village+7"
	admin.get(path)
	slow.do()
	one := h.check(77, "Kisima", reading(152, 40, 1))
	one.Slip, one.Position = "L999999", 200_000
	h.ledger.Apply(one)
	h.later(50 * time.Second)
	if a := admin.get(path); !strings.Contains(a.Body, "As of 07:30;") || slow.do() != 0 {
		t.Error("a result of less than a minute ago is not shown, or reckoned again")
	}
	h.later(50 * time.Second)
	if a := admin.get(path); !strings.Contains(a.Body, "As of 07:30;") || slow.do() != 1 {
		t.Error("a result of more than a minute ago is not shown, or not reckoned again")
	}
	if a := admin.get(path); !strings.Contains(a.Body, "As of 07:31;") {
		t.Error("the new result is not shown")
	}
}

// TestPagesSayWhatIsStillBeingRead asks for pages while the store is read after a
// start: each answers with what there is, and says how far it is. What is
// reckoned over all, and exports, wait until that is done.
func TestPagesSayWhatIsStillBeingRead(t *testing.T) {
	read, whole := 0, 1
	var slow later
	h := newHouse(t, func(c *desk.Config) {
		c.Aside = slow.aside
		c.Progress = func() (int, float64, bool) { return read, float64(read) / float64(whole), read < whole }
	})
	admin := h.hundredThousand()
	const notice = "still reading its store"
	read, whole = h.ledger.View().Len(), 2*h.ledger.View().Len()
	const lots = "/desk/lots?district=Kisima" // the store behind the ledger holds no others
	for _, path := range pages {
		if path == "/desk/lots" {
			path = lots
		}
		a := admin.get(path)
		if a.Status != http.StatusOK || !strings.Contains(a.Body, notice) || !strings.Contains(a.Body, "100,050\u202fchecks so far, 50%") {
			t.Errorf("%s: status %d, and no word of what is still being read", path, a.Status)
		}
	}
	if a := admin.get(lots); a.Header.Get("Refresh") == "" {
		t.Error("a page over checks does not come back")
	}
	if a := admin.get("/desk/settings"); a.Header.Get("Refresh") != "" {
		t.Error("a page over no checks comes back, and loses what is typed in it")
	}
	for _, path := range []string{"/desk/", "/desk/what-if", "/desk/findings"} {
		if a := admin.get(path); !strings.Contains(a.Body, "being reckoned") || slow.do() != 0 {
			t.Errorf("%s reckons what takes seconds over a part of the checks", path)
		}
	}
	if a := admin.get("/desk/export/file?format=csv"); a.Status != http.StatusServiceUnavailable || !strings.Contains(a.Body, notice) || a.Header.Get("Retry-After") == "" {
		t.Errorf("an export of a part of the checks: status %d", a.Status)
	}
	one := h.check(77, "Kisima", reading(152, 40, 1))
	one.Slip, one.Position = "L999999", 200_000
	h.ledger.Apply(one)
	read = whole
	a := admin.get("/desk/grades")
	if strings.Contains(a.Body, notice) || !strings.Contains(a.Body, "100,051\u202fchecks") || a.Header.Get("Refresh") != "" {
		t.Error("after all was read, a page shows a part still, or says so")
	}
}
