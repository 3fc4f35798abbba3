package gateway_test

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/session"
	"threshline/session/store/mem"
)

// signedChannel reads signed batches of messages that have no id, so that the
// very same request is refused when it comes again.
func signedChannel(t *testing.T) *carrier.Channel {
	t.Helper()
	c, err := carrier.New(carrier.Config{
		Name: "valley-signed", Kind: session.SMS,
		Read:  carrier.ReadConfig{Each: "json:/all", From: "json:/from", Text: "json:/text"},
		Reply: carrier.ReplyConfig{Body: "{{range .Replies}}[{{.Text}}]{{end}}"},
		Guard: carrier.GuardConfig{Signature: &carrier.SignatureConfig{
			Secret: []string{"env:VALLEY_TOKEN"}, At: "header:X-Mark", TimestampAt: "header:X-When",
		}},
		Receipt: &carrier.ReceiptConfig{ID: "json:/id", State: "json:/state", Delivered: []string{"there"}},
	}, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// signedPost signs with the secret of the scripts.
func signedPost(path, body string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(body))
	when := strconv.FormatInt(start.Unix(), 10)
	h := hmac.New(sha256.New, []byte("valley-token-for-tests"))
	fmt.Fprintf(h, "%s.%s", when, body)
	r.Header.Set("X-When", when)
	r.Header.Set("X-Mark", hex.EncodeToString(h.Sum(nil)))
	return r
}

const twoMessages = `{"all":[{"from":"33639980001","text":"one"},{"from":"33639980002","text":"two"}]}`

func wants(t *testing.T, when string, w *httptest.ResponseRecorder, status int, body string) {
	t.Helper()
	if w.Code != status || body != "" && w.Body.String() != body {
		t.Errorf("%s: answered %d %q, want %d %q", when, w.Code, w.Body, status, body)
	}
}

// Whoever is told to deliver again may do so with the very same bytes, for
// whatever reason the request was not taken; once it was, it is a replay.
func TestASignedRequestThatWasNotTakenMayComeAgain(t *testing.T) {
	store := &moody{inner: mem.New(mem.Options{})}
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Inlets = store, []gateway.Inlet{gateway.InletOf(signedChannel(t))}
	})
	for _, problem := range []error{session.ErrFull, session.ErrBusy, session.ErrClosed, session.ErrHalted} {
		store.fail(problem)
		for range 2 {
			wants(t, problem.Error(), answer(g, signedPost("/in/valley-signed", twoMessages)), http.StatusServiceUnavailable, "")
		}
	}
	store.fail(nil)
	wants(t, "when all is well", answer(g, signedPost("/in/valley-signed", twoMessages)), http.StatusOK,
		`[Message 1, continue: "one".][Message 1, continue: "two".]`)
	wants(t, "taken before", answer(g, signedPost("/in/valley-signed", twoMessages)), http.StatusUnauthorized, "not authorised\n")
	panics := `{"all":[{"from":"33639980003","text":"panic"}]}`
	for range 2 {
		wants(t, "after a panic", answer(g, signedPost("/in/valley-signed", panics)), http.StatusInternalServerError, "")
	}
}

// A request of which a part was taken comes again: that part is known by its
// signature and place, though its messages have no id.
func TestWhatWasTakenOfASignedRequestIsNotHeardAgain(t *testing.T) {
	store := &moody{inner: mem.New(mem.Options{})}
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Inlets = store, []gateway.Inlet{gateway.InletOf(signedChannel(t))}
	})
	faulty := `{"all":[{"from":"33639980001","text":"one"},{"from":"33639980001","text":"one"},{"from":"33639980002","text":"fault"}]}`
	for range 3 {
		wants(t, "with a fault in it", answer(g, signedPost("/in/valley-signed", faulty)), http.StatusInternalServerError, "")
	}
	wants(t, "the next one", answer(g, signedPost("/in/valley-signed", twoMessages)), http.StatusOK,
		`[Message 3, continue: "one".][Message 1, continue: "two".]`)
}

func TestASignedReceiptThatWasNotTakenMayComeAgain(t *testing.T) {
	store := mem.New(mem.Options{})
	g := newGateway(t, func(cfg *gateway.Config) {
		cfg.Store, cfg.Receipts, cfg.Inlets = store, store, []gateway.Inlet{gateway.InletOf(signedChannel(t))}
	})
	receipt := `{"id":"c-1","state":"there"}`
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		wants(t, "while the store is closed", answer(g, signedPost("/receipt/valley-signed", receipt)), http.StatusServiceUnavailable, "")
	}
}
