package carrier

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"text/template"
	"time"

	"golang.org/x/text/encoding"

	"threshline/gateway/gsm"
	"threshline/session"
)

// sendData is what the templates of [channel.send] see.
type sendData struct {
	To       string
	Text     string
	ID       string
	Sender   string
	Segments int
	Wide     bool
	Token    string
}

// sender is a SendConfig ready to use.
type sender struct {
	cfg       SendConfig
	url, body *template.Template
	headers   map[string]*template.Template
	token     Secret
	tokenAt   place
	password  Secret
	signing   *signing
	signAt    place
	stampAt   place
	idAt      place
	ok, id    place
	charset   encoding.Encoding // of the body; nil is UTF-8
}

// defaultSendTimeout is how long a carrier may take. Our own choice.
const defaultSendTimeout = Duration(15 * time.Second)

// maxParallel is how many messages may be on their way to a carrier at once.
// Our own choice: a carrier that takes a second for each then takes 64 a second.
const maxParallel = 64

func newSender(cfg SendConfig, setup Setup) (*sender, string, error) {
	s := &sender{cfg: cfg}
	sample := sendData{To: "+33639980000", Text: "text", ID: "id", Sender: cfg.Sender, Segments: 1}
	var err error
	if s.url, err = compile("send.url", cfg.URL, sample); err != nil {
		return nil, "url", err
	}
	if err := s.validateURL(sample); err != nil {
		return nil, "url", err
	}
	if s.body, err = compile("send.body", cfg.Body, sample); err != nil {
		return nil, "body", err
	}
	if s.headers, err = compileAll("send.headers", cfg.Headers, sample); err != nil {
		return nil, "headers", err
	}
	for name := range cfg.Headers {
		if strings.EqualFold(name, "Authorization") {
			return nil, "headers", fmt.Errorf("%q is a secret: want token and token_at, or user and password", name)
		}
	}
	if s.charset, err = charsetOfType(cfg.ContentType); err != nil {
		return nil, "content_type", err
	}
	for _, p := range []struct {
		key, text string
		into      *place
		answer    bool
	}{
		{"token_at", cfg.TokenAt, &s.tokenAt, false}, {"ok", cfg.OK, &s.ok, true}, {"id", cfg.ID, &s.id, true},
	} {
		if *p.into, err = parsePlace(p.text); err != nil {
			return nil, p.key, err
		}
		if p.answer && p.text != "" && !answerPlace(*p.into) {
			return nil, p.key, fmt.Errorf("%q: want a place in the carrier's answer: json, xml, form or header", p.text)
		}
	}
	if key, err := s.validate(); err != nil {
		return nil, key, err
	}
	if setup.Unguarded {
		return s, "", nil
	}
	return s.withSecrets(setup.Secrets)
}

// answerPlace reports whether a carrier's answer can hold a field there.
func answerPlace(p place) bool {
	switch p.kind {
	case "json", "top", "xml", "form", "header":
		return true
	}
	return false
}

// validateURL makes sure that messages go to one place only, whatever is in them, and
// by TLS unless it is this machine.
func (s *sender) validateURL(sample sendData) error {
	other := sendData{To: "+447700900000", Text: "http://203.0.113.1/@x", ID: "9", Sender: s.cfg.Sender, Segments: 2}
	var hosts []*url.URL
	for _, d := range []sendData{sample, other} {
		text, err := render(s.url, d)
		if err != nil {
			return err
		}
		u, err := url.Parse(text)
		if err != nil || u.Host == "" {
			return fmt.Errorf("want an address such as \"https://carrier.example/send\" (a field in it goes through query)")
		}
		hosts = append(hosts, u)
	}
	if hosts[0].Host != hosts[1].Host || hosts[0].Scheme != hosts[1].Scheme {
		return errors.New("the host may not depend on the message")
	}
	switch u := hosts[0]; {
	case u.User != nil:
		return errors.New("holds a user or password: want user and password beside it")
	case u.Scheme == "https", u.Scheme == "http" && (s.cfg.Insecure || thisMachine(u.Hostname())):
		return nil
	case u.Scheme == "http":
		return errors.New("is not https: numbers and texts could be read on the way; insecure = true allows it")
	}
	return fmt.Errorf("scheme %q: want https", hosts[0].Scheme)
}

func thisMachine(host string) bool {
	a, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && a.IsLoopback()
}

func (s *sender) validate() (key string, err error) {
	cfg := s.cfg
	switch {
	case cfg.Method != "" && cfg.Method != http.MethodGet && cfg.Method != http.MethodPost && cfg.Method != http.MethodPut:
		return "method", fmt.Errorf("%q: want \"POST\", \"PUT\" or \"GET\"", cfg.Method)
	case cfg.TokenAt != "" && cfg.Token == "":
		return "token", errors.New("is missing: token_at has nothing to hold")
	case cfg.Token != "" && cfg.TokenAt == "" && !s.tokenInBody():
		return "token", errors.New("goes nowhere: want token_at, such as \"header:Authorization\", or {{.Token}} in the body")
	case cfg.TokenAt != "" && s.tokenAt.kind != "header" && s.tokenAt.kind != "query":
		return "token_at", errors.New("want header:NAME or query:NAME")
	case (cfg.User == "") != (cfg.Password == ""):
		return "user", errors.New("goes together with password")
	case (cfg.OK == "") != (len(cfg.OKValues) == 0):
		return "ok", errors.New("goes together with ok_values, its words for success")
	case len(cfg.Final) > 0 && cfg.OK == "":
		return "final", errors.New("needs ok, where its words stand")
	case cfg.PerSegment < 0 || cfg.DailyLimit < 0 || cfg.PerSecond < 0:
		return "per_segment", errors.New("per_segment, daily_limit and per_second are 0 or more")
	case cfg.Parallel < 0 || cfg.Parallel > maxParallel:
		return "parallel", fmt.Errorf("is %d: want how many messages may be on their way at once, at most %d", cfg.Parallel, maxParallel)
	}
	return "", nil
}

func (s *sender) tokenInBody() bool {
	a, err1 := render(s.body, sendData{Token: "1"})
	b, err2 := render(s.body, sendData{Token: "2"})
	return err1 == nil && err2 == nil && a != b
}

// Call makes the request that hands an outgoing message to the carrier. The
// message's ID is the client reference, by which the carrier can drop a
// duplicate. Errors: ErrNoSend, ErrNumberRange, or a template's.
func (c *Channel) Call(ctx context.Context, o session.Outgoing, now time.Time) (*http.Request, error) {
	s := c.send
	if s == nil {
		return nil, ErrNoSend
	}
	if c.unguarded {
		return nil, fmt.Errorf("%w: the channel's secrets were not read", ErrSecret)
	}
	if !c.CanAnswer(o.To) {
		return nil, ErrNumberRange
	}
	text := c.Shown(o.Text)
	data := sendData{To: string(o.To), Text: text, ID: string(o.ID), Sender: s.cfg.Sender, Segments: len(gsm.Segments(text))}
	_, narrow := gsm.Count(text)
	data.Wide = !narrow
	r, body, err := s.request(ctx, data)
	if err != nil {
		return nil, fmt.Errorf("carrier: channel %q: send.%w", c.cfg.Name, err)
	}
	return r, s.authenticate(r, body, data.ID, now)
}

// request fills the templates in. Its errors begin with the key.
func (s *sender) request(ctx context.Context, data sendData) (*http.Request, string, error) {
	target, err := render(s.url, data)
	if err != nil {
		return nil, "", fmt.Errorf("url: %w", err)
	}
	withToken := data
	withToken.Token = s.token.value
	text, err := render(s.body, withToken)
	if err != nil {
		return nil, "", fmt.Errorf("body: %w", err)
	}
	body, err := encode(text, s.charset)
	if err != nil {
		return nil, "", fmt.Errorf("body: %w", err)
	}
	method := cmp.Or(s.cfg.Method, http.MethodPost)
	r, err := http.NewRequestWithContext(ctx, method, target, bytes.NewReader(body))
	if err != nil {
		return nil, "", errors.New("url: cannot be used for this message")
	}
	if s.cfg.ContentType != "" {
		r.Header.Set("Content-Type", s.cfg.ContentType)
	}
	for name, t := range s.headers {
		value, err := render(t, data)
		if err != nil {
			return nil, "", fmt.Errorf("headers.%s: %w", name, err)
		}
		r.Header.Set(name, oneLine.Replace(value))
	}
	return r, string(body), nil
}

// SendTimeout is how long the carrier may take to answer a call.
func (c *Channel) SendTimeout() time.Duration {
	if c.send == nil || c.send.cfg.Timeout == 0 {
		return time.Duration(defaultSendTimeout)
	}
	return time.Duration(c.send.cfg.Timeout)
}

// Cost is what a text costs to send by the channel, in the programme's
// currency, and how many segments it has.
func (c *Channel) Cost(text string) (money float64, segments int) {
	segments = len(gsm.Segments(c.Shown(text)))
	if c.send == nil {
		return 0, segments
	}
	return float64(segments) * c.send.cfg.PerSegment, segments
}
