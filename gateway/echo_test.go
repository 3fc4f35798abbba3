package gateway_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/session"
	"threshline/session/memstore"
	"threshline/session/screen"
)

// mostEchoes is how many messages a loop may go round before it stops.
const mostEchoes = 3

// texter is a gateway on an SMS channel that answers in the response, with
// the real dialogue.
type texter struct {
	g     *gateway.Gateway
	clock *clock
	sent  int
}

func newTexter(t *testing.T) *texter {
	t.Helper()
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS,
		Read:  carrier.ReadConfig{From: "form:from", Text: "form:text"},
		Reply: carrier.ReplyConfig{Body: "{{.Text}}", SilentStatus: http.StatusNoContent},
		Guard: carrier.GuardConfig{Open: true},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	x := &texter{clock: &clock{now: start}}
	x.g = newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Machine, cfg.Now = memstore.New(memstore.Options{}), screen.NewMachine(programme(t)), x.clock.Now
		cfg.Channels, cfg.Limits = []gateway.Channel{gateway.ChannelOf(c)}, gateway.DefaultLimits()
	})
	return x
}

// text sends a text and returns the reply, false when there is none.
func (x *texter) text(t *testing.T, from, text string) (string, bool) {
	t.Helper()
	x.sent++
	x.clock.add(2 * time.Second)
	r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader("from="+url.QueryEscape(from)+"&text="+url.QueryEscape(text)))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := answer(x.g, r)
	switch w.Code {
	case http.StatusOK:
		return w.Body.String(), true
	case http.StatusNoContent, http.StatusTooManyRequests:
		return "", false
	}
	t.Fatalf("answered %d %q to %q", w.Code, w.Body, text)
	return "", false
}

func TestOurOwnTextsComingBackEndWithinThreeMessages(t *testing.T) {
	for _, begin := range [][]string{{"hello"}, {"1"}, {"hello", "1", "1", "1"}, {"hello", "1", "1", "1", "1", "8"}} {
		t.Run(strings.Join(begin, ","), func(t *testing.T) {
			x := newTexter(t)
			reply, more := "", false
			for _, text := range begin {
				reply, more = x.text(t, "+33639980001", text)
			}
			var heard []string
			for more {
				heard = append(heard, reply)
				if len(heard) > mostEchoes {
					t.Fatalf("still answering:\n%s", strings.Join(heard, "\n--\n"))
				}
				reply, more = x.text(t, "+33639980001", reply)
			}
		})
	}
}

func TestAnAutomaticReplyIsAnsweredAtMostThreeTimes(t *testing.T) {
	x := newTexter(t)
	answers := 0
	for range 20 {
		if _, more := x.text(t, "+33639980001", "I am in the field and will answer later."); more {
			answers++
		}
	}
	if answers > mostEchoes {
		t.Errorf("answered %d times", answers)
	}
}

func TestTwoGatewaysAnsweringEachOtherStopWithinThreeMessages(t *testing.T) {
	ours, theirs := newTexter(t), newTexter(t)
	reply, more := ours.text(t, "+33639980001", "hello")
	side := []*texter{theirs, ours}
	var heard []string
	for turn := 0; more; turn++ {
		heard = append(heard, reply)
		x := side[turn%2]
		if x.sent > mostEchoes+1 {
			t.Fatalf("still answering:\n%s", strings.Join(heard, "\n--\n"))
		}
		reply, more = x.text(t, fmt.Sprintf("+3363998100%d", turn%2), reply)
	}
}

func TestShortCodesAndWordsAreNeverAnswered(t *testing.T) {
	x := newTexter(t)
	for _, from := range []string{"32811", "VALLEY", "Info"} {
		if reply, more := x.text(t, from, "You have won."); more {
			t.Errorf("%s was answered %q", from, reply)
		}
	}
}
