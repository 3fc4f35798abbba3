package gateway_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway"
	"threshline/session"
	"threshline/session/store/mem"
)

// newGateway is a gateway over the benchmarks' channel, changed as a test
// wants it.
func newGateway(t testing.TB, change func(*gateway.Config)) *gateway.Gateway {
	t.Helper()
	cfg := gateway.Config{
		Store: mem.New(mem.Options{}), Step: parrot, Now: (&clock{now: start}).Now, Entropy: dice(),
		Inlets: []gateway.Inlet{gateway.InletOf(valley(t))}, Log: zerolog.Nop(), Metrics: gateway.NewMetrics(),
	}
	if change != nil {
		change(&cfg)
	}
	g, err := gateway.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// post makes a request to the benchmarks' channel.
func post(number, text, message string) *http.Request {
	body := fmt.Sprintf("msisdn=%s&input=%s&sid=s&mid=%s&news=typed", strings.TrimPrefix(number, "+"), text, message)
	r := httptest.NewRequest(http.MethodPost, "/in/valley-ussd", strings.NewReader(body))
	r.Header.Set("X-Token", "valley-token-for-tests")
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}

func answer(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestEveryAnswerHasItsHeadersAndANumberOfItsOwn(t *testing.T) {
	g := newGateway(t, nil)
	seen := map[string]bool{}
	for _, r := range []*http.Request{
		post("+33639980001", "hello", "1"), post("+33639980001", "panic", "2"),
		httptest.NewRequest(http.MethodGet, "/nowhere", nil), httptest.NewRequest(http.MethodGet, "/healthz", nil),
		httptest.NewRequest(http.MethodGet, "/metrics", nil), httptest.NewRequest(http.MethodPost, "/in/valley-ussd", nil),
	} {
		h := answer(g, r).Header()
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "no-referrer",
			"Cache-Control": "no-store", "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", r.URL.Path, name, got, want)
			}
		}
		id := h.Get("X-Request-Id")
		if id == "" || seen[id] {
			t.Errorf("%s: request id %q is missing or was given before", r.URL.Path, id)
		}
		seen[id] = true
	}
}

func TestTheServerGivesUpOnSlowAndLargeRequests(t *testing.T) {
	// Bounds against slow and large requests; our own choice of numbers.
	s := gateway.Server("127.0.0.1:0", http.NotFoundHandler(), zerolog.Nop())
	if s.ReadHeaderTimeout != 5*time.Second || s.ReadTimeout != 10*time.Second || s.WriteTimeout != 15*time.Second ||
		s.IdleTimeout != time.Minute || s.MaxHeaderBytes != 16<<10 {
		t.Errorf("bounds are %v %v %v %v %d", s.ReadHeaderTimeout, s.ReadTimeout, s.WriteTimeout, s.IdleTimeout, s.MaxHeaderBytes)
	}
}

func TestALargeBodyOfUnknownLengthIsRefusedBeforeItIsRead(t *testing.T) {
	server := httptest.NewServer(newGateway(t, nil))
	defer server.Close()
	body := &counted{left: 10_000_000}
	r, err := http.NewRequest(http.MethodPost, server.URL+"/in/valley-ussd", body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("X-Token", "valley-token-for-tests")
	response, err := server.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusRequestEntityTooLarge || !response.Close {
		t.Errorf("status %d, connection kept %v", response.StatusCode, !response.Close)
	}
}

// counted is a body of unknown length.
type counted struct{ left int }

func (c *counted) Read(p []byte) (int, error) {
	if c.left == 0 {
		return 0, io.EOF
	}
	n := min(len(p), c.left)
	c.left -= n
	for i := range p[:n] {
		p[i] = 'x'
	}
	return n, nil
}

func TestReadinessSaysWhetherTheStoreTakesWrites(t *testing.T) {
	var ill error
	g := newGateway(t, func(c *gateway.Config) { c.Ready = func(context.Context) error { return ill } })
	if w := answer(g, httptest.NewRequest(http.MethodGet, "/readyz", nil)); w.Code != http.StatusOK {
		t.Errorf("well: %d", w.Code)
	}
	ill = fmt.Errorf("disk of +33639980001: %w", session.ErrFull)
	w := answer(g, httptest.NewRequest(http.MethodGet, "/readyz", nil))
	if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" || strings.Contains(w.Body.String(), "disk") {
		t.Errorf("ill: %d, %q", w.Code, w.Body)
	}
	if w := answer(g, httptest.NewRequest(http.MethodGet, "/healthz", nil)); w.Code != http.StatusOK {
		t.Errorf("the process runs all the same: %d", w.Code)
	}
}

// Whatever is thrown at it, the gateway's labels come from its configuration
// and from closed lists, and neither a number nor a text is logged.
func TestNeitherNumbersNorTextsAreLoggedOrCounted(t *testing.T) {
	var log lockedBuffer
	metrics := gateway.NewMetrics()
	g := newGateway(t, func(c *gateway.Config) {
		c.Log, c.Metrics = zerolog.New(&log).Level(zerolog.TraceLevel), metrics
		c.Limits = gateway.Limits{Phone: []gateway.Limit{{Burst: 5, Every: time.Minute}}}
	})
	var posts sync.WaitGroup
	for phone := range 40 {
		posts.Go(func() {
			number := fmt.Sprintf("+3363998%04d", 1234+phone)
			for i, text := range []string{"wheatword", "panic", "fault", "hush", "wheatword", "wheatword", "wheatword"} {
				answer(g, post(number, text, fmt.Sprintf("%d-%d", phone, i)))
			}
			answer(g, httptest.NewRequest(http.MethodPost, "/in/wheatword"+number, nil))
			wrong := post(number, "wheatword", "x")
			wrong.Header.Set("X-Token", "wheatword-wrong-token")
			answer(g, wrong)
		})
	}
	posts.Wait()
	lines(t, log.String())
	scrape := answer(g, httptest.NewRequest(http.MethodGet, "/metrics", nil)).Body.String()
	for where, text := range map[string]string{"the log": log.String(), "the metrics": scrape} {
		if text == "" {
			t.Errorf("%s is empty", where)
		}
		for _, secret := range []string{"wheatword", "valley-token-for-tests", "63998"} {
			if at := strings.Index(text, secret); at >= 0 {
				t.Errorf("%s holds %q: ...%s...", where, secret, text[max(0, at-80):min(len(text), at+80)])
			}
		}
	}
	checkLabels(t, scrape)
}

func checkLabels(t *testing.T, scrape string) {
	t.Helper()
	allowed := map[string][]string{
		"channel": {"", "valley-ussd"}, "kind": {"ussd"},
		"outcome": {"answered", "duplicate", "silent", "failed"},
		"reason":  {"channel", "guard", "internal", "panic", "limit"},
	}
	labels := regexp.MustCompile(`(channel|kind|outcome|reason)="([^"]*)"`).FindAllStringSubmatch(scrape, -1)
	if len(labels) == 0 {
		t.Fatal("no label was found")
	}
	for _, label := range labels {
		if !slices.Contains(allowed[label[1]], label[2]) {
			t.Errorf("label %s has the value %q", label[1], label[2])
		}
	}
}

// lockedBuffer is a log that several goroutines write.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func TestAGatewayNeedsItsParts(t *testing.T) {
	for name, breakIt := range map[string]func(*gateway.Config){
		"no store":      func(c *gateway.Config) { c.Store = nil },
		"no dialogue":   func(c *gateway.Config) { c.Step = nil },
		"no clock":      func(c *gateway.Config) { c.Now = nil },
		"no metrics":    func(c *gateway.Config) { c.Metrics = nil },
		"no channel":    func(c *gateway.Config) { c.Inlets = nil },
		"a name twice":  func(c *gateway.Config) { c.Inlets = append(c.Inlets, c.Inlets[0]) },
		"no random bit": func(c *gateway.Config) { c.Entropy = bytes.NewReader(nil) },
	} {
		cfg := gateway.Config{
			Store: mem.New(mem.Options{}), Step: parrot, Now: time.Now,
			Inlets: []gateway.Inlet{gateway.InletOf(valley(t))}, Metrics: gateway.NewMetrics(),
		}
		breakIt(&cfg)
		if _, err := gateway.New(cfg); err == nil {
			t.Errorf("%s: a gateway was made", name)
		}
	}
}

func TestWithoutRandomBitsNothingIsStored(t *testing.T) {
	store := mem.New(mem.Options{})
	// Enough to begin with, and nothing for the first message.
	g := newGateway(t, func(c *gateway.Config) { c.Store, c.Entropy = store, bytes.NewReader(make([]byte, 16)) })
	if w := answer(g, post("+33639980001", "hello", "1")); w.Code != http.StatusInternalServerError {
		t.Errorf("answered %d", w.Code)
	}
	err := store.Read(t.Context(), func(v session.View) error {
		d, err := v.Dialogue("+33639980001")
		if err == nil && d.Version != 0 {
			err = errors.New("the dialogue was stored")
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}
