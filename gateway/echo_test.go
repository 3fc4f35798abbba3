package gateway_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
	"threshline/session/store/mem"
)

// mostEchoes is how many messages a loop may go round before it stops.
const mostEchoes = 3

// texter is a gateway on an SMS channel with the real dialogue. It answers in
// the response, or by a call of its own.
type texter struct {
	g      *gateway.Gateway
	clock  *clock
	pace   time.Duration
	worker *dispatch.Worker // nil where it answers in the response
	out    []string         // what went out by calls
	sent   int
}

// Hand implements dispatch.Carrier.
func (x *texter) Hand(_ context.Context, o session.Outgoing) (string, error) {
	x.out = append(x.out, o.Text)
	return "", nil
}

func newTexter(t *testing.T, byCall bool) *texter {
	t.Helper()
	x := &texter{clock: &clock{now: start}, pace: 2 * time.Second}
	cfg := carrier.Config{
		Name: "valley-sms", Kind: session.SMS, AllowPrefixes: []string{"+3363998"},
		Read:  carrier.ReadConfig{From: "form:from", Text: "form:text"},
		Reply: carrier.ReplyConfig{Body: "{{.Text}}", SilentStatus: http.StatusNoContent},
		Guard: carrier.GuardConfig{Open: true},
	}
	store := mem.New(mem.Options{})
	if byCall {
		cfg.Reply = carrier.ReplyConfig{Via: "send"}
		cfg.Send = &carrier.SendConfig{URL: "https://carrier.example/send"}
		var err error
		x.worker, err = dispatch.New(dispatch.Config{
			Queue: store, Now: x.clock.Now, Outlets: []dispatch.Outlet{{Name: cfg.Name, Carrier: x}},
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	c, err := carrier.New(cfg, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	x.g = newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Step, cfg.Now = store, dialogue(t).Step, x.clock.Now
		cfg.Inlets, cfg.Limits = []gateway.Inlet{gateway.InletOf(c)}, gateway.DefaultLimits()
	})
	return x
}

// text sends a text and returns the reply, false when there is none.
func (x *texter) text(t *testing.T, from, text string) (string, bool) {
	t.Helper()
	x.sent++
	x.clock.add(x.pace)
	r := httptest.NewRequest(http.MethodPost, "/in/valley-sms", strings.NewReader("from="+url.QueryEscape(from)+"&text="+url.QueryEscape(text)))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := answer(x.g, r)
	switch {
	case w.Code == http.StatusNoContent, w.Code == http.StatusTooManyRequests:
		return "", false
	case w.Code == http.StatusOK && x.worker == nil:
		return w.Body.String(), true
	case w.Code == http.StatusOK:
		x.out = nil
		if _, err := x.worker.Round(t.Context()); err != nil {
			t.Fatal(err)
		}
		return strings.Join(x.out, ""), len(x.out) > 0
	}
	t.Fatalf("answered %d %q to %q", w.Code, w.Body, text)
	return "", false
}

// ways run a test with replies in the response, and with replies by a call.
func ways(t *testing.T, test func(t *testing.T, byCall bool)) {
	t.Run("in the response", func(t *testing.T) { test(t, false) })
	t.Run("by a call", func(t *testing.T) { test(t, true) })
}

// beginnings are what a person said before a machine takes over the phone.
var beginnings = [][]string{
	{"hello"}, {"1"}, {"hello", "1", "1", "1"}, {"hello", "1", "1", "1", "1", "8"}, {"hello", "1", "1", "1", "1", "8", "1"},
	{"HELP"}, {"STOP"}, {"hello", "1", "1", "1", "STOP"}, {"13.8 14.1 13.9"},
}

// machines are what answers our texts without anybody reading them.
var machines = []struct {
	name string
	says func(n int, ours string) string
}{
	{"our text, as it was", func(_ int, ours string) string { return ours }},
	{"our text in capitals", func(_ int, ours string) string { return strings.ToUpper(ours) }},
	{"our text, passed on", func(_ int, ours string) string { return "Fwd: " + ours }},
	{"our text, cut short", func(_ int, ours string) string { return ours[:min(len(ours), 70)] }},
	{"our text, quoted", func(_ int, ours string) string { return "You wrote: '" + ours + "'. We will call you back." }},
	{"always the same, long", func(int, string) string { return "I am in the field and will answer later." }},
	{"always the same, short", func(int, string) string { return "Away" }},
	{"a number of its own", func(n int, _ string) string {
		return fmt.Sprintf("Request %d received, thank you for writing.", 4100+n)
	}},
	{"a number of its own, short", func(n int, _ string) string { return fmt.Sprintf("Ticket %d", 4100+n) }},
	{"the time of day", func(n int, _ string) string { return fmt.Sprintf("Closed. It is %02d:%02d.", 8+n/60, n%60) }},
	{"a word and help", func(int, string) string { return "Unknown command. Send HELP for help." }},
}

// What a person says as well, such as a digit, may be right several times in a
// row. It ends when it leads nowhere any more.
func TestAMachineThatAnswersLikeAPersonComesToAnEnd(t *testing.T) {
	const most = 12
	ways(t, func(t *testing.T, byCall bool) {
		for _, says := range []string{"OK", "1", "0", "9", "99", "yes"} {
			for _, begin := range beginnings {
				x := newTexter(t, byCall)
				more := false
				for _, text := range begin {
					_, more = x.text(t, "+33639980001", text)
				}
				for n := 0; more; n++ {
					if n >= most {
						t.Fatalf("after %q, %q is still answered after %d times", begin, says, n)
					}
					_, more = x.text(t, "+33639980001", says)
				}
			}
		}
	})
}

func TestALoopEndsWithinThreeMessages(t *testing.T) {
	ways(t, func(t *testing.T, byCall bool) {
		for _, m := range machines {
			for _, begin := range beginnings {
				for _, pace := range []time.Duration{2 * time.Second, 10 * time.Minute} {
					t.Run(fmt.Sprintf("%s/%s/%v", m.name, strings.Join(begin, ","), pace), func(t *testing.T) {
						x := newTexter(t, byCall)
						reply, more := "", false
						for _, text := range begin {
							reply, more = x.text(t, "+33639980001", text)
						}
						x.pace = pace
						var heard []string
						for n := 0; more; n++ {
							said := m.says(n, reply)
							heard = append(heard, reply, said)
							if n >= mostEchoes {
								t.Fatalf("still answering:\n%s", strings.Join(heard, "\n--\n"))
							}
							reply, more = x.text(t, "+33639980001", said)
						}
					})
				}
			}
		}
	})
}

// A machine that answers whether or not it is answered, as a burst of
// automatic replies does.
func TestAnAutomaticReplyIsAnsweredAtMostThreeTimes(t *testing.T) {
	ways(t, func(t *testing.T, byCall bool) {
		x := newTexter(t, byCall)
		answers := 0
		for range 20 {
			if _, more := x.text(t, "+33639980001", "I am in the field and will answer later."); more {
				answers++
			}
		}
		if answers > mostEchoes {
			t.Errorf("answered %d times", answers)
		}
	})
}

func TestTwoGatewaysAnsweringEachOtherStopWithinThreeMessages(t *testing.T) {
	ways(t, func(t *testing.T, byCall bool) {
		for _, begin := range beginnings {
			t.Run(strings.Join(begin, ","), func(t *testing.T) {
				side := []*texter{newTexter(t, byCall), newTexter(t, byCall)}
				reply, more := "", false
				for _, text := range begin {
					reply, more = side[0].text(t, "+33639981000", text)
				}
				before := side[0].sent
				var heard []string
				for turn := 1; more; turn++ {
					heard = append(heard, reply)
					x := side[turn%2]
					if side[1].sent > mostEchoes || side[0].sent-before > mostEchoes {
						t.Fatalf("still answering:\n%s", strings.Join(heard, "\n--\n"))
					}
					reply, more = x.text(t, fmt.Sprintf("+3363998100%d", turn%2), reply)
				}
			})
		}
	})
}

func TestShortCodesAndWordsAreNeverAnswered(t *testing.T) {
	ways(t, func(t *testing.T, byCall bool) {
		x := newTexter(t, byCall)
		for _, from := range []string{"32811", "VALLEY", "Info"} {
			if reply, more := x.text(t, from, "You have won."); more {
				t.Errorf("%s was answered %q", from, reply)
			}
		}
	})
}

// A person who does not get it right at once is no machine.
func TestAPersonWhoStrugglesIsAnsweredEachTime(t *testing.T) {
	ways(t, func(t *testing.T, byCall bool) {
		x := newTexter(t, byCall)
		for _, text := range []string{
			"hello", "1", "1", "1", "1", // to the bags of a new check
			"eight", "ten sacks", "what", "8 x", "9 x", "10 x", "0", "HELP", "1", "eight", "8",
			"1", "moist 139", "13.8 14.1", "139 141 139", "13.8 14.1 13.9",
		} {
			if reply, more := x.text(t, "+33639980001", text); !more || reply == "" {
				t.Errorf("%q got no answer", text)
			}
		}
	})
}
