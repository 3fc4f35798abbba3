package gateway_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
	"threshline/session"
)

// outlet is a channel that sends to a carrier of the test's own.
func outlet(t *testing.T, url string) dispatch.Outlet {
	t.Helper()
	c, err := carrier.New(carrier.Config{
		Name: "valley-sms", Kind: session.SMS, AllowPrefixes: []string{"+3363998"},
		Read:  carrier.ReadConfig{From: "form:from", Text: "form:text"},
		Reply: carrier.ReplyConfig{Via: "send"},
		Guard: carrier.GuardConfig{Open: true},
		Send: &carrier.SendConfig{
			URL: url, ContentType: "application/json", Body: `{"to":{{json .To}},"text":{{json .Text}},"ref":{{json .ID}}}`,
			OK: "json:/result", OKValues: []string{"taken"}, Final: []string{"never"}, ID: "json:/id",
			PerSegment: 0.5, DailyLimit: 20, PerSecond: 3, Parallel: 7,
		},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	out, sends := gateway.OutletOf(c, gateway.NewClient(), func() time.Time { return start })
	if !sends {
		t.Fatal("a channel that sends was not given to the worker")
	}
	return out
}

var hello = session.Outgoing{ID: "ref-1", To: "+33639980001", Text: "Grade II.", Channel: "valley-sms"}

func TestACarriersAnswersAreUnderstood(t *testing.T) {
	elsewhere := 0
	other := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { elsewhere++ }))
	defer other.Close()
	cases := []struct {
		name    string
		answer  func(w http.ResponseWriter)
		id      string
		refusal *dispatch.Refusal // nil with an empty id: nobody knows
	}{
		{"taken", func(w http.ResponseWriter) { fmt.Fprint(w, `{"result":"taken","id":"c-7"}`) }, "c-7", nil},
		{"200 with an error inside", func(w http.ResponseWriter) { fmt.Fprint(w, `{"result":"no credit"}`) }, "", &dispatch.Refusal{}},
		{"200 and never", func(w http.ResponseWriter) { fmt.Fprint(w, `{"result":"never"}`) }, "", &dispatch.Refusal{Final: true}},
		{"200 and nothing", func(http.ResponseWriter) {}, "", &dispatch.Refusal{}},
		{"500", func(w http.ResponseWriter) { w.WriteHeader(500) }, "", &dispatch.Refusal{}},
		{"400", func(w http.ResponseWriter) { w.WriteHeader(400) }, "", &dispatch.Refusal{Final: true}},
		{"503 with Retry-After", func(w http.ResponseWriter) {
			w.Header().Set("Retry-After", "120")
			w.WriteHeader(503)
		}, "", &dispatch.Refusal{Slow: true, After: 2 * time.Minute}},
		{"a redirect is not followed", func(w http.ResponseWriter) {
			w.Header().Set("Location", other.URL)
			w.WriteHeader(307)
		}, "", &dispatch.Refusal{}},
		{"dropped", func(http.ResponseWriter) { panic(http.ErrAbortHandler) }, "", nil},
		{"dropped in the middle", func(w http.ResponseWriter) {
			w.Header().Set("Content-Length", "1000")
			fmt.Fprint(w, `{"result":"taken"`)
			panic(http.ErrAbortHandler)
		}, "", nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			bodies := make(chan string, 1)
			server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				read, _ := io.ReadAll(r.Body)
				bodies <- string(read)
				c.answer(w)
			}))
			defer server.Close()
			id, err := outlet(t, server.URL).Carrier.Hand(t.Context(), hello)
			if body, want := <-bodies, `{"to":"+33639980001","text":"Grade II.","ref":"ref-1"}`; body != want {
				t.Errorf("the carrier was given %s", body)
			}
			checkHanded(t, id, err, c.id, c.refusal)
		})
	}
	if elsewhere != 0 {
		t.Error("a redirect was followed")
	}
}

func checkHanded(t *testing.T, id string, err error, wantID string, want *dispatch.Refusal) {
	t.Helper()
	var got *dispatch.Refusal
	refused := errors.As(err, &got)
	switch {
	case wantID != "":
		if id != wantID || err != nil {
			t.Errorf("got %q, %v", id, err)
		}
	case want == nil:
		if err == nil || refused {
			t.Errorf("got %v: the message may have been taken, so it is no refusal", err)
		}
	case !refused || got.Final != want.Final || got.Slow != want.Slow || got.After != want.After || got.Problem == "":
		t.Errorf("got %+v (%v), want %+v", got, err, want)
	}
	if err != nil && (strings.Contains(err.Error(), "63998") || strings.Contains(err.Error(), "127.0.0.1")) {
		t.Errorf("the error tells a number or an address: %v", err)
	}
}

func TestACarrierThatCannotBeReachedTookNothing(t *testing.T) {
	server := httptest.NewServer(http.NotFoundHandler())
	server.Close() // its port is closed now
	id, err := outlet(t, server.URL).Carrier.Hand(t.Context(), hello)
	checkHanded(t, id, err, "", &dispatch.Refusal{})
}

func TestACallThatIsGivenUpMayHaveBeenTaken(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		_, _ = io.Copy(io.Discard, r.Body)
		cancel()
		<-r.Context().Done()
	}))
	defer server.Close()
	id, err := outlet(t, server.URL).Carrier.Hand(ctx, hello)
	checkHanded(t, id, err, "", nil)
}

func TestNothingIsSentOutsideTheAllowedRanges(t *testing.T) {
	calls := 0
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { calls++ }))
	defer server.Close()
	for _, to := range []session.Phone{"+882130000001", "32811", "VALLEY", ""} {
		o := hello
		o.To = to
		id, err := outlet(t, server.URL).Carrier.Hand(t.Context(), o)
		checkHanded(t, id, err, "", &dispatch.Refusal{Final: true})
	}
	if calls != 0 {
		t.Errorf("the carrier was called %d times", calls)
	}
}

func TestAChannelsSettingsReachTheWorker(t *testing.T) {
	c := outlet(t, "https://carrier.example/send")
	if c.Name != "valley-sms" || c.PerSecond != 3 || c.Parallel != 7 || c.PerSegment != 0.5 || c.DailyLimit != 20 {
		t.Errorf("got %+v", c)
	}
	// 161 letters are two segments of 153 and 8: [TS-23.040 §9.2.3.24.1].
	if n := c.Segments(strings.Repeat("a", 161)); n != 2 {
		t.Errorf("161 letters are %d segments", n)
	}
	if c.Reaches("+882130000001") || !c.Reaches("+33639980001") {
		t.Error("the ranges that are sent to did not come over")
	}
	if _, ok := gateway.OutletOf(valley(t), gateway.NewClient(), time.Now); ok {
		t.Error("a channel that cannot send was given to the worker")
	}
}
