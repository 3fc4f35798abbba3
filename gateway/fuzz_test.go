package gateway_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"unicode/utf8"

	"threshline/gateway"
	"threshline/gateway/gsm"
	"threshline/session/memstore"
	"threshline/session/screen"
)

// FuzzHandler brings a phone to a screen of the real dialogue and then sends
// whatever the fuzzer thinks of: as a request of its own making, and as the
// text of a right request. The gateway must answer, never with an internal
// error, and never with more than a screen.
func FuzzHandler(f *testing.F) {
	for _, steps := range []uint8{0, 1, 3, 5, 8, 10, 12, 14} {
		f.Add(steps, "13.8 14,1", "form:x=1&msisdn=33639980001&input=1&sid=s")
		f.Add(steps, "?", "msisdn=33639980001&input=%f0%9f%8c%be&sid=s&mid=1&news=idle")
	}
	f.Add(uint8(3), "00", "msisdn=%2B&input&;=;&sid=%zz")
	f.Add(uint8(7), "-5 200% O.l", strings.Repeat("msisdn=33639980001&", 50))
	f.Add(uint8(9), "STOP", "\x00\xff{\"a\":[")
	machine, channel := screen.NewMachine(programme(f)), gateway.ChannelOf(valley(f))
	f.Fuzz(func(t *testing.T, steps uint8, text, body string) {
		c := &clock{now: start}
		g := newGateway(t, func(cfg *gateway.Config) {
			cfg.Store, cfg.Machine, cfg.Now = memstore.New(memstore.Options{}), machine, c.Now
			cfg.Channels = []gateway.Channel{channel}
		})
		way := append(append([]string{}, welcome...), lot...)
		message := 0
		say := func(entry string) *httptest.ResponseRecorder {
			message++
			return answer(g, post("+33639980001", url.QueryEscape(entry), fmt.Sprint(message)))
		}
		for _, entry := range way[:int(steps)%len(way)] {
			say(entry)
		}
		checkAnswer(t, say(text), text)
		raw := httptest.NewRequest(http.MethodPost, "/in/valley-ussd", strings.NewReader(body))
		raw.Header.Set("X-Token", "valley-token-for-tests")
		raw.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		checkAnswer(t, answer(g, raw), body)
		if w := say("0"); w.Code != http.StatusOK {
			t.Errorf("after it the dialogue is broken: %d %q", w.Code, w.Body)
		}
	})
}

// checkAnswer holds what every answer of the benchmarks' channel keeps to.
func checkAnswer(t *testing.T, w *httptest.ResponseRecorder, sent string) {
	t.Helper()
	switch w.Code {
	case http.StatusOK:
		if n, ok := gsm.Count(w.Body.String()); !ok || n > 160 {
			t.Errorf("%d septets, all of them in the alphabet: %v, after %q:\n%s", n, ok, sent, w.Body)
		}
	case http.StatusBadRequest, http.StatusUnsupportedMediaType, http.StatusRequestEntityTooLarge:
	default:
		t.Errorf("answered %d %q to %q", w.Code, w.Body, sent)
	}
	if !utf8.Valid(w.Body.Bytes()) {
		t.Errorf("the answer to %q is not text: %q", sent, w.Body)
	}
}
