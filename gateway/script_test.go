package gateway_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/cockroachdb/datadriven"
	"github.com/pelletier/go-toml/v2"
	"github.com/rs/zerolog"

	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/session"
	"threshline/session/store/mem"
)

// script plays one file of testdata/gateway: channels, then raw requests and
// what is answered to them.
type script struct {
	t        *testing.T
	clock    *clock
	inner    *mem.Store
	store    *moody
	log      *bytes.Buffer
	channels []*carrier.Channel
	limits   gateway.Limits
	gateway  *gateway.Gateway
}

// secrets are those of the scripts: made up, like everything in them.
func secrets(reference string) (string, error) {
	if reference == "env:VALLEY_TOKEN" {
		return "valley-token-for-tests", nil
	}
	return "", errors.New("no such secret")
}

func newScript(t *testing.T) *script {
	inner := mem.New(mem.Options{})
	t.Cleanup(func() { _ = inner.Close() })
	return &script{t: t, clock: &clock{now: start}, inner: inner, store: &moody{inner: inner}, log: &bytes.Buffer{}}
}

func (s *script) run(_ *testing.T, d *datadriven.TestData) string {
	switch d.Cmd {
	case "channel":
		s.channel(d)
	case "limit":
		s.limit(d)
	case "clock":
		by, err := time.ParseDuration(strings.TrimPrefix(d.CmdArgs[0].Key, "+"))
		if err != nil {
			d.Fatalf(s.t, "%v", err)
		}
		s.clock.add(by)
		if d.HasArg("swept") {
			if _, err := s.inner.Sweep(s.t.Context(), s.clock.Now(), 1000); err != nil {
				d.Fatalf(s.t, "%v", err)
			}
		}
	case "store":
		s.trouble(d)
	case "request":
		return s.request(d)
	case "queue":
		return s.queue(d)
	case "log":
		return s.logged()
	default:
		d.Fatalf(s.t, "no command %q", d.Cmd)
	}
	return ""
}

func (s *script) channel(d *datadriven.TestData) {
	var cfg carrier.Config
	decoder := toml.NewDecoder(strings.NewReader(d.Input))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&cfg); err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	c, err := carrier.New(cfg, carrier.Setup{Region: "FR", Secrets: secrets})
	if err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	s.channels = append(s.channels, c)
	s.gateway = nil
}

// limit sets limits, such as "phone=2/1s channel=5/1m in-flight=1".
func (s *script) limit(d *datadriven.TestData) {
	for _, arg := range d.CmdArgs {
		burst, every, _ := strings.Cut(arg.Vals[0], "/")
		n, err := strconv.Atoi(burst)
		if err != nil {
			d.Fatalf(s.t, "%v", err)
		}
		limit := gateway.Limit{Burst: n}
		if limit.Every, err = time.ParseDuration(every); err != nil {
			d.Fatalf(s.t, "%v", err)
		}
		switch arg.Key {
		case "phone":
			s.limits.Phone = append(s.limits.Phone, limit)
		case "channel":
			s.limits.Channel = limit
		default:
			d.Fatalf(s.t, "no limit %q", arg.Key)
		}
	}
	s.gateway = nil
}

func (s *script) trouble(d *datadriven.TestData) {
	faults := map[string]error{
		"well": nil, "full": session.ErrFull, "busy": session.ErrBusy, "closed": session.ErrClosed, "halted": session.ErrHalted,
		"conflict": session.ErrConflict, "broken": errors.New("page 7 of +33639980001 is damaged"),
	}
	problem, ok := faults[d.CmdArgs[0].Key]
	if !ok {
		d.Fatalf(s.t, "no trouble %q", d.CmdArgs[0].Key)
	}
	s.store.fail(problem)
}

// serve makes the gateway of the channels so far.
func (s *script) serve() *gateway.Gateway {
	if s.gateway != nil {
		return s.gateway
	}
	cfg := gateway.Config{
		Store: s.store, Step: parrot, Receipts: s.inner, Limits: s.limits, Now: s.clock.Now,
		Entropy: dice(), Log: zerolog.New(s.log), Metrics: gateway.NewMetrics(),
	}
	for _, c := range s.channels {
		cfg.Inlets = append(cfg.Inlets, gateway.InletOf(c))
	}
	g, err := gateway.New(cfg)
	if err != nil {
		s.t.Fatal(err)
	}
	s.gateway = g
	return g
}

// request sends a raw request; its length is added, and "body=N" makes a body
// of N bytes.
func (s *script) request(d *datadriven.TestData) string {
	head, body, _ := strings.Cut(d.Input, "\n\n")
	for _, arg := range d.CmdArgs {
		if arg.Key == "body" {
			n, err := strconv.Atoi(arg.Vals[0])
			if err != nil {
				d.Fatalf(s.t, "%v", err)
			}
			body += strings.Repeat("x", n)
		}
	}
	raw := strings.ReplaceAll(strings.TrimRight(head, "\n"), "\n", "\r\n") +
		fmt.Sprintf("\r\nHost: gateway.example\r\nContent-Length: %d\r\n\r\n", len(body)) + body
	r, err := http.ReadRequest(bufio.NewReader(strings.NewReader(raw)))
	if err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	r.RemoteAddr = "192.0.2.7:40000"
	w := httptest.NewRecorder()
	s.serve().ServeHTTP(w, r)
	return show(w)
}

// usual are headers that every answer has; another test looks at them.
var usual = []string{
	"X-Content-Type-Options", "X-Frame-Options", "Content-Security-Policy", "Referrer-Policy", "Cache-Control", "X-Request-Id",
}

func show(w *httptest.ResponseRecorder) string {
	var out strings.Builder
	fmt.Fprintf(&out, "%d %s\n", w.Code, http.StatusText(w.Code))
	var names []string
	for name := range w.Header() {
		if !slices.Contains(usual, name) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		fmt.Fprintf(&out, "%s: %s\n", name, strings.Join(w.Header()[name], ", "))
	}
	if body := strings.TrimRight(w.Body.String(), "\n"); body != "" {
		fmt.Fprintf(&out, "%s\n", body)
	}
	return out.String()
}

// queue shows the outgoing messages, oldest first.
func (s *script) queue(d *datadriven.TestData) string {
	sent, err := s.inner.Sent(s.t.Context(), session.Outgoing{}, 100)
	if err != nil {
		d.Fatalf(s.t, "%v", err)
	}
	var out strings.Builder
	slices.Reverse(sent)
	for _, o := range sent {
		expires := "never"
		if !o.Expires.IsZero() {
			expires = "after " + o.Expires.Sub(o.Created).String()
		}
		fmt.Fprintf(&out, "%s to %s by %s, expires %s, %d letters in its id: %s\n", o.Purpose, string(o.To), o.Channel, expires, len(o.ID), o.Text)
	}
	if out.Len() == 0 {
		return "empty\n"
	}
	return out.String()
}

// logged shows what was logged since it was last asked for.
func (s *script) logged() string {
	defer s.log.Reset()
	var out strings.Builder
	for line := range strings.Lines(s.log.String()) {
		line = requestID.ReplaceAllString(line, `"request":"ID"`)
		out.WriteString(stack.ReplaceAllString(line, `"stack":"STACK"`))
	}
	return out.String()
}

func TestScriptsPlayAsWritten(t *testing.T) {
	files := 0
	datadriven.Walk(t, "../testdata/gateway", func(t *testing.T, path string) {
		files++
		s := newScript(t)
		datadriven.RunTest(t, path, s.run)
	})
	if files == 0 {
		t.Fatal("found no script to play")
	}
}

var (
	requestID = regexp.MustCompile(`"request":"[^"]*"`)
	stack     = regexp.MustCompile(`"stack":"(?:[^"\\]|\\.)*"`)
)
