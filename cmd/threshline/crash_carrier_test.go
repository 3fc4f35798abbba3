package main

import (
	"encoding/json"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"threshline/session"
)

// carrierStub is a carrier that takes texts. It knows a message that it is
// handed twice by its reference, and sometimes takes one without saying so.
type carrierStub struct {
	*httptest.Server

	mu      sync.Mutex
	random  *rand.Rand
	texts   map[string]handed          // by reference
	arrived map[session.Phone][]string // our own ids, not yet told
	faults  []string
}

type handed struct{ To, Text, Ref string }

func newCarrierStub(t *testing.T, random *rand.Rand) *carrierStub {
	c := &carrierStub{random: random, texts: map[string]handed{}, arrived: map[session.Phone][]string{}}
	c.Server = httptest.NewServer(http.HandlerFunc(c.take))
	t.Cleanup(c.Close)
	return c
}

// address is where the configuration finds it.
func (c *carrierStub) address() string { return strings.TrimPrefix(c.URL, "http://") }

func (c *carrierStub) take(w http.ResponseWriter, r *http.Request) {
	var m handed
	err := json.NewDecoder(r.Body).Decode(&m)
	c.mu.Lock()
	defer c.mu.Unlock()
	switch before, known := c.texts[m.Ref]; {
	case err != nil || m.Ref == "":
		c.faults = append(c.faults, "a call that is none")
	case r.Header.Get("X-Token") != valleyToken:
		c.faults = append(c.faults, "a call without the token")
	case known && before != m:
		c.faults = append(c.faults, "two messages with the reference "+m.Ref)
	case !known:
		c.texts[m.Ref] = m
		c.arrived[session.Phone(m.To)] = append(c.arrived[session.Phone(m.To)], "c-"+m.Ref)
	}
	if c.random.IntN(12) == 0 {
		panic(http.ErrAbortHandler) // taken, but the answer is lost
	}
	_ = json.NewEncoder(w).Encode(map[string]string{"id": "c-" + m.Ref})
}

// delivered lists the carrier's ids of texts that reached a phone since it was
// last asked, in any order, now and then one of them twice.
func (c *carrierStub) delivered(to session.Phone) []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	ids := c.arrived[to]
	delete(c.arrived, to)
	if len(ids) > 0 && c.random.IntN(4) == 0 {
		ids = append(ids, ids[0])
	}
	c.random.Shuffle(len(ids), func(i, j int) { ids[i], ids[j] = ids[j], ids[i] })
	return ids
}

// took lists what reached the carrier, by phone.
func (c *carrierStub) took() (byPhone map[session.Phone][]handed, faults []string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	byPhone = map[session.Phone][]handed{}
	for _, m := range c.texts {
		byPhone[session.Phone(m.To)] = append(byPhone[session.Phone(m.To)], m)
	}
	return byPhone, c.faults
}
