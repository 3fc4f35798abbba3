package dispatch_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"strconv"
	"sync"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// stormy is a carrier over real HTTP that fails in every way it can: it is
// down, busy, slow, drops connections before and after it took a message, and
// answers 200 with an error inside. It knows messages by our reference.
type stormy struct {
	server *httptest.Server
	client *http.Client

	mu       sync.Mutex
	dice     *rand.Rand
	taken    map[session.OutgoingID]int // how often it took each message
	doubtful map[session.OutgoingID]int // of these, how often we cannot know
	cancels  map[session.OutgoingID]context.CancelFunc
	receipts []string
	early    func(carrierID string) // delivers a receipt before the answer
	faults   map[string]int
}

func newStormy(t *testing.T, seed uint64) *stormy {
	s := &stormy{
		dice:  rand.New(rand.NewPCG(seed, 1)),
		taken: map[session.OutgoingID]int{}, doubtful: map[session.OutgoingID]int{},
		cancels: map[session.OutgoingID]context.CancelFunc{}, faults: map[string]int{},
	}
	s.server = httptest.NewServer(s)
	t.Cleanup(s.server.Close)
	s.client = s.server.Client()
	s.client.Transport.(*http.Transport).MaxIdleConnsPerHost = 64
	return s
}

// roll picks what goes wrong with one call, if anything does.
func (s *stormy) roll() (fault string, early bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	fault = "none"
	for _, row := range []struct {
		fault string
		share float64
	}{{"down", .08}, {"dropped before", .05}, {"dropped after", .04}, {"error inside", .06}, {"busy", .01}, {"slow", .03}} {
		if s.dice.Float64() < row.share {
			fault = row.fault
			break
		}
	}
	s.faults[fault]++
	return fault, s.dice.Float64() < .1
}

// take takes a message, and says whether we will hear of it.
func (s *stormy) take(id session.OutgoingID, heard bool) (carrierID string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.taken[id]++
	if !heard {
		s.doubtful[id]++
	}
	carrierID = "c-" + string(id)
	if s.taken[id] == 1 { // the reference lets it drop the second
		s.receipts = append(s.receipts, carrierID)
	}
	return carrierID
}

func (s *stormy) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	id := session.OutgoingID(r.Header.Get("Reference"))
	if _, err := io.Copy(io.Discard, r.Body); err != nil {
		return
	}
	fault, early := s.roll()
	switch fault {
	case "down":
		http.Error(w, "down", http.StatusInternalServerError)
	case "busy":
		w.Header().Set("Retry-After", "7")
		http.Error(w, "busy", http.StatusServiceUnavailable)
	case "error inside":
		_ = json.NewEncoder(w).Encode(map[string]any{"ok": false})
	case "dropped before":
		panic(http.ErrAbortHandler)
	case "dropped after":
		s.take(id, false)
		panic(http.ErrAbortHandler)
	case "slow":
		s.take(id, false)
		s.mu.Lock()
		giveUp := s.cancels[id]
		s.mu.Unlock()
		giveUp() // the caller's patience ends, without anybody waiting for it
		<-r.Context().Done()
	default:
		carrierID := s.take(id, true)
		if early {
			s.early(carrierID)
		}
		_ = json.NewEncoder(w).Encode(map[string]any{"ok": true, "id": carrierID})
	}
}

// Hand implements dispatch.Carrier over HTTP.
func (s *stormy) Hand(ctx context.Context, o session.Outgoing) (string, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	s.mu.Lock()
	s.cancels[o.ID] = cancel
	s.mu.Unlock()
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, s.server.URL, bytes.NewReader([]byte(o.Text)))
	if err != nil {
		return "", err
	}
	request.GetBody = nil // the client must not try again by itself
	request.Header.Set("Reference", string(o.ID))
	response, err := s.client.Do(request)
	if err != nil {
		return "", err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		after, _ := strconv.Atoi(response.Header.Get("Retry-After"))
		return "", &dispatch.Refusal{
			Problem: "carrier answered " + response.Status, After: time.Duration(after) * time.Second,
			Slow: response.StatusCode == http.StatusServiceUnavailable,
		}
	}
	var answer struct {
		OK bool   `json:"ok"`
		ID string `json:"id"`
	}
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		return "", err
	}
	if !answer.OK {
		return "", &dispatch.Refusal{Problem: "carrier answered with an error"}
	}
	return answer.ID, nil
}
