package main

import (
	"encoding/json"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
)

// faultyCarrier takes messages over HTTP, and fails in every way that shows
// within a second. It knows a message by our reference, and counts how often
// it was handed each one and how often we could not know that it took it.
type faultyCarrier struct {
	*httptest.Server

	mu       sync.Mutex
	changed  *sync.Cond
	open     int // connections
	random   *rand.Rand
	to       map[string]string // the receiver, by reference
	times    map[string]int    // how often it took the message
	doubtful map[string]int    // of these, how often the answer was lost
	answered map[string]bool   // taken and answered in this run of the program
	faults   map[string]int
	wrong    []string
	hold     int // the call to hold: when so many messages were taken
	held     chan struct{}
}

func newFaultyCarrier(t *testing.T, random *rand.Rand) *faultyCarrier {
	c := &faultyCarrier{
		random: random, to: map[string]string{}, times: map[string]int{}, doubtful: map[string]int{},
		answered: map[string]bool{}, faults: map[string]int{},
	}
	c.changed = sync.NewCond(&c.mu)
	c.Server = httptest.NewUnstartedServer(http.HandlerFunc(c.take))
	c.Config.ConnState = c.connection
	c.Start()
	t.Cleanup(c.Close)
	return c
}

func (c *faultyCarrier) address() string { return strings.TrimPrefix(c.URL, "http://") }

// connection counts the open connections.
func (c *faultyCarrier) connection(_ net.Conn, state http.ConnState) {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch state {
	case http.StateNew:
		c.open++
	case http.StateClosed, http.StateHijacked:
		c.open--
	}
	c.changed.Broadcast()
}

// quiet waits until all that a killed program sent has been dealt with.
func (c *faultyCarrier) quiet() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for c.open > 0 {
		c.changed.Wait()
	}
}

// begin begins a run of the program. The channel that it returns is closed
// when the carrier holds a call, having taken so many messages: that one is
// under way as long as the program lives.
func (c *faultyCarrier) begin(messages int) (held <-chan struct{}) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.answered = map[string]bool{}
	c.hold, c.held = messages, make(chan struct{})
	return c.held
}

// roll picks what goes wrong with one call, if anything does.
func (c *faultyCarrier) roll() string {
	for _, row := range []struct {
		fault string
		share float64
	}{{"down", .03}, {"dropped before", .02}, {"dropped after", .02}, {"error inside", .02}, {"busy", .0002}} {
		if c.random.Float64() < row.share {
			return row.fault
		}
	}
	return "none"
}

func (c *faultyCarrier) take(w http.ResponseWriter, r *http.Request) {
	var m handed
	err := json.NewDecoder(r.Body).Decode(&m)
	switch fault := c.note(m, err == nil && r.Header.Get("X-Token") == valleyToken); fault {
	case "down":
		http.Error(w, "down", http.StatusInternalServerError)
	case "busy":
		w.Header().Set("Retry-After", "1")
		http.Error(w, "busy", http.StatusServiceUnavailable)
	case "error inside":
		_, _ = w.Write([]byte(`{"state":"refused"}`))
	case "dropped before", "dropped after":
		panic(http.ErrAbortHandler)
	case "held":
		<-r.Context().Done()
	default:
		_ = json.NewEncoder(w).Encode(map[string]string{"state": "taken", "id": "c-" + m.Ref})
	}
}

// note counts a call and says what becomes of it.
func (c *faultyCarrier) note(m handed, proper bool) (fault string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if before, known := c.to[m.Ref]; !proper || m.Ref == "" || m.Text == "" || known && before != m.To {
		c.wrong = append(c.wrong, "a call that is not as it should be, reference "+m.Ref)
	}
	c.to[m.Ref] = m.To
	fault = c.roll()
	if fault == "none" && c.hold > 0 && len(c.times) >= c.hold {
		fault, c.hold = "held", 0
		close(c.held)
	}
	c.faults[fault]++
	switch fault {
	case "none":
		c.times[m.Ref]++
		c.answered[m.Ref] = true
	case "held", "dropped after":
		c.times[m.Ref]++
		c.doubtful[m.Ref]++
	}
	return fault
}
