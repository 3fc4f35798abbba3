package main

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"io"
	"net/http"
	"strings"
	"sync"
	"time"

	"threshline/gateway/gsm"
	"threshline/session"
)

// simCarrier takes what goes out: or refuses it, or takes it and loses the
// answer, or hangs; and brings receipts late, twice or never. What it does with
// a message follows from the seed and the message alone, in whatever order the
// calls come.
type simCarrier struct {
	s *simulation

	mu       sync.Mutex
	tried    map[string]int // by reference
	known    map[string]int // likewise: how often it said that it took it
	sent     []simText
	tries    []simText // taken or not, and receipts: a start may count one as a message of that day
	receipts []simReceipt
}

// simText is a text that reached a phone.
type simText struct {
	to       session.Phone
	ref      string
	text     string
	at       time.Time
	segments int
	unknown  bool // the gateway was not told that it was taken
}

type simReceipt struct {
	id, state string
	due       time.Time
}

// count notes a try, with the message's segments.
func (c *simCarrier) count(ref string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	o := c.s.truth.outgoing[session.OutgoingID(ref)]
	c.tries = append(c.tries, simText{ref: ref, at: time.Now(), segments: len(gsm.Segments(o.Text))})
}

// RoundTrip implements http.RoundTripper.
func (c *simCarrier) RoundTrip(r *http.Request) (*http.Response, error) {
	var call struct{ To, Text, Ref string }
	if err := json.NewDecoder(r.Body).Decode(&call); err != nil {
		return nil, err
	}
	c.mu.Lock()
	n := c.tried[call.Ref]
	c.tried[call.Ref]++
	c.mu.Unlock()
	c.count(call.Ref)
	h := fnv.New64a()
	fmt.Fprint(h, c.s.seed, call.Ref, n)
	mood := h.Sum64() % 100
	switch {
	case mood < 4:
		return answered(http.StatusInternalServerError, ""), nil
	case mood < 7:
		return answered(http.StatusServiceUnavailable, ""), nil
	case mood < 9: // hangs until it is given up
		<-r.Context().Done()
		return nil, r.Context().Err()
	}
	segments := len(gsm.Segments(call.Text))
	c.mu.Lock()
	defer c.mu.Unlock()
	c.sent = append(c.sent, simText{to: session.Phone(call.To), ref: call.Ref, text: call.Text, at: time.Now(), segments: segments, unknown: mood < 13})
	id := "c-" + call.Ref
	if mood < 60 {
		state := "there"
		if mood < 14 {
			state = "lost"
		}
		for range 1 + mood%2 {
			c.receipts = append(c.receipts, simReceipt{id, state, time.Now().Add(time.Duration(mood) * time.Minute)})
		}
	}
	if mood < 13 { // taken, and nobody knows
		return nil, io.ErrUnexpectedEOF
	}
	c.known[call.Ref]++
	return answered(http.StatusOK, fmt.Sprintf(`{"id":%q}`, id)), nil
}

func answered(status int, body string) *http.Response {
	return &http.Response{StatusCode: status, Header: http.Header{}, Body: io.NopCloser(strings.NewReader(body))}
}

// bring delivers the receipts that are due.
func (c *simCarrier) bring() {
	var due []simReceipt
	c.mu.Lock()
	left := c.receipts[:0]
	for _, r := range c.receipts {
		if r.due.After(time.Now()) {
			left = append(left, r)
		} else {
			due = append(due, r)
		}
	}
	c.receipts = left
	c.mu.Unlock()
	for _, r := range due {
		c.count(strings.TrimPrefix(r.id, "c-"))
		status, text := c.s.post("/receipt/valley-sms", "application/json", fmt.Sprintf(`{"id":%q,"state":%q}`, r.id, r.state))
		if status != http.StatusOK && status != http.StatusNoContent {
			c.s.wrong(ruleRest, "a receipt was answered %d %s", status, text)
		}
	}
}
