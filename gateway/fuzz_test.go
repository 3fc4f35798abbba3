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
	"threshline/session/store/mem"
)

// FuzzHandler brings a phone to a screen of the real dialogue, along the way of
// a whole check and by keys of the fuzzer's own, and then sends whatever the
// fuzzer thinks of: as the text of a right request, and as a request of its own
// making. The gateway must answer, never with an internal error, and never with
// more than a screen.
func FuzzHandler(f *testing.F) {
	way := append(append([]string{}, welcome...), lot...)
	for steps := range way {
		f.Add(uint8(steps), "", "13.8 14,1", "form:x=1&msisdn=33639980001&input=1&sid=s")
		f.Add(uint8(steps), "?*0", "\u06f1\u06f3.8 O", "msisdn=33639980001&input=%f0%9f%8c%be&sid=s&mid=1&news=idle")
	}
	filed := uint8(len(way) - 1)
	for _, choice := range []string{"1", "2", "3", "4", "5", "6", "7", "8", "9"} {
		for _, then := range []string{"", "*1", "*2", "*3", "*1*1", "*18 600", "*1*2", "*2*1"} {
			f.Add(filed, "00*"+choice+then, "1", "msisdn=33639980001&input=9&sid=s")
		}
	}
	f.Add(uint8(3), "", "00", "msisdn=%2B&input&;=;&sid=%zz")
	f.Add(uint8(7), "99*1", "-5 200% O.l", strings.Repeat("msisdn=33639980001&", 50))
	f.Add(uint8(9), "STOP*START", "STOP", "\x00\xff{\"a\":[")
	machine, channel := dialogue(f), gateway.InletOf(valley(f))
	f.Fuzz(func(t *testing.T, steps uint8, keys, text, body string) {
		c := &clock{now: start}
		g := newGateway(t, func(cfg *gateway.Config) {
			cfg.Store, cfg.Step, cfg.Now = mem.New(mem.Options{}), machine.Step, c.Now
			cfg.Inlets = []gateway.Inlet{channel}
		})
		message := 0
		say := func(entry string) *httptest.ResponseRecorder {
			message++
			return answer(g, post("+33639980001", url.QueryEscape(entry), fmt.Sprint(message)))
		}
		for _, entry := range way[:int(steps)%len(way)] {
			say(entry)
		}
		for _, entry := range strings.SplitN(keys, "*", mostKeys)[:min(strings.Count(keys, "*")+1, mostKeys-1)] {
			checkAnswer(t, say(entry), entry)
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

// mostKeys bounds the keys of the fuzzer's own, so that an input stays quick.
const mostKeys = 12

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
