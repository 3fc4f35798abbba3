package gateway_test

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"testing"

	"threshline/gateway"
	"threshline/session"
)

// The same message delivered many times at once is heard once, and everybody
// gets the same bytes.
func TestDeliveriesAtOnceAreHeardOnce(t *testing.T) {
	store := openStore(t)
	g := newGateway(t, func(c *gateway.Config) { c.Store = store })
	const rounds, deliveries = 10, 16
	for round := range rounds {
		bodies := make([]string, deliveries)
		var posts sync.WaitGroup
		for i := range deliveries {
			posts.Go(func() {
				w := answer(g, post("+33639980001", "hello", "m"+strconv.Itoa(round)))
				bodies[i] = fmt.Sprint(w.Code, " ", w.Body)
			})
		}
		posts.Wait()
		want := fmt.Sprintf("200 Message %d, continue: \"hello\".", round+1)
		for i, body := range bodies {
			if body != want {
				t.Fatalf("round %d, delivery %d: %q, want %q", round, i, body, want)
			}
		}
	}
}

// Different messages of one phone at once do not tear its dialogue: each is
// heard, one after the other.
func TestTwoMessagesOfOnePhoneAtOnceAreBothHeard(t *testing.T) {
	store := openStore(t)
	g := newGateway(t, func(c *gateway.Config) { c.Store = store })
	const phones, messages = 8, 4
	counts := make([][]int, phones)
	var posts sync.WaitGroup
	var mu sync.Mutex
	for phone := range phones {
		for message := range messages {
			posts.Go(func() {
				w := answer(g, post(fmt.Sprintf("+3363998%04d", phone), "hello", fmt.Sprintf("%d-%d", phone, message)))
				number, _, _ := strings.Cut(strings.TrimPrefix(w.Body.String(), "Message "), ",")
				n, err := strconv.Atoi(number)
				if w.Code != http.StatusOK || err != nil {
					t.Errorf("%d %q", w.Code, w.Body)
				}
				mu.Lock()
				defer mu.Unlock()
				counts[phone] = append(counts[phone], n)
			})
		}
	}
	posts.Wait()
	for phone, heard := range counts {
		sum := 0
		for _, n := range heard {
			sum += n
		}
		if len(heard) != messages || sum != messages*(messages+1)/2 {
			t.Errorf("phone %d was told %v, want each of 1 to %d once", phone, heard, messages)
		}
	}
}

// held is a store whose exchanges wait until they are let go.
type held struct {
	*moody
	entered, leave chan struct{}
}

func (h held) Exchange(ctx context.Context, key session.Key, turn session.Turn) (session.Outcome, error) {
	h.entered <- struct{}{}
	<-h.leave
	return h.moody.Exchange(ctx, key, turn)
}

// Above what it can carry the gateway says so at once, and takes messages
// again when there is room.
func TestAboveItsCapacityTheGatewayShedsAndRecovers(t *testing.T) {
	store := held{&moody{inner: openStore(t)}, make(chan struct{}), make(chan struct{})}
	g := newGateway(t, func(c *gateway.Config) {
		c.Store = store
		c.Limits = gateway.Limits{InFlight: 2}
	})
	var posts sync.WaitGroup
	for i := range 2 {
		posts.Go(func() {
			if w := answer(g, post(fmt.Sprintf("+3363998000%d", i), "hello", strconv.Itoa(i))); w.Code != http.StatusOK {
				t.Errorf("one that was taken: %d", w.Code)
			}
		})
	}
	<-store.entered
	<-store.entered
	for i := range 5 {
		w := answer(g, post("+33639980009", "hello", "more"+strconv.Itoa(i)))
		if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") != "1" {
			t.Errorf("one too many: %d, Retry-After %q", w.Code, w.Header().Get("Retry-After"))
		}
	}
	store.leave <- struct{}{}
	store.leave <- struct{}{}
	posts.Wait()
	posts.Go(func() {
		if w := answer(g, post("+33639980009", "hello", "more0")); w.Code != http.StatusOK {
			t.Errorf("when there is room again: %d", w.Code)
		}
	})
	<-store.entered
	store.leave <- struct{}{}
	posts.Wait()
}
