// Package handset is a phone and its carrier in one: it shows what a basic phone
// would, and sends what is keyed in as a channel's configuration says a carrier
// does.
package handset

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// Phone keeps a network session over one channel of a gateway.
type Phone struct {
	base    string // address of the gateway, without a path
	channel carrier.Config
	Number  string
	Client  *http.Client
	NewID   func() string // of a message or a session

	network string   // id of the USSD session under way; empty when none is
	keyed   []string // inputs of this session, for channels that repeat them all
	lastURL string
	lastRaw string
}

// New is a phone with its own number over a channel of the gateway at base.
func New(base string, channel carrier.Config, number string) *Phone {
	return &Phone{
		base: strings.TrimSuffix(base, "/"), channel: channel, Number: number,
		Client: &http.Client{Timeout: Timeout}, NewID: randomID,
	}
}

func randomID() string {
	b := make([]byte, 8)
	rand.Read(b) // never fails: crypto/rand ends the program instead
	return hex.EncodeToString(b)
}

// Dialled reports whether a USSD session is under way.
func (p *Phone) Dialled() bool { return p.network != "" }

// Answer is one screen as the phone got it.
type Answer struct {
	Text   string
	More   bool
	Status int
}

// Dial opens a new USSD session, as after *code#.
func (p *Phone) Dial(ctx context.Context) (Answer, error) {
	p.network, p.keyed = p.NewID(), nil
	return p.send(ctx, "", session.Start)
}

// Key answers the open screen, or sends an SMS.
func (p *Phone) Key(ctx context.Context, text string) (Answer, error) {
	p.keyed = append(p.keyed, text)
	whole := text
	if p.channel.Read.Dialogue == "whole" {
		whole = strings.Join(p.keyed, p.separator())
	}
	return p.send(ctx, whole, session.Continue)
}

func (p *Phone) separator() string {
	if p.channel.Read.Separator != "" {
		return p.channel.Read.Separator
	}
	return "*"
}

// Drop loses the session without a word, as a weak network does.
func (p *Phone) Drop() { p.network, p.keyed = "", nil }

func (p *Phone) send(ctx context.Context, text string, event session.Event) (Answer, error) {
	form := url.Values{}
	put := func(at, value string) {
		if name, ok := strings.CutPrefix(at, "form:"); ok && value != "" {
			form.Set(name, value)
		}
	}
	read := p.channel.Read
	put(read.From, p.Number)
	put(read.Message, p.NewID())
	put(read.Session, p.network)
	put(read.Event, string(event))
	if name, ok := strings.CutPrefix(read.Text, "form:"); ok {
		form.Set(name, text) // the first request of a session has an empty text
	}
	p.lastURL, p.lastRaw = p.base+"/in/"+p.channel.Name, form.Encode()
	return p.deliver(ctx)
}

// again delivers the last request once more, as a carrier does that got no answer.
func (p *Phone) again(ctx context.Context) (Answer, error) {
	if p.lastURL == "" {
		return Answer{}, fmt.Errorf("nothing was sent yet")
	}
	return p.deliver(ctx)
}

func (p *Phone) deliver(ctx context.Context) (Answer, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, p.lastURL, strings.NewReader(p.lastRaw))
	if err != nil {
		return Answer{}, err
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	resp, err := p.Client.Do(req)
	if err != nil {
		return Answer{}, fmt.Errorf("no answer from the gateway: %w", err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
	if err != nil {
		return Answer{}, fmt.Errorf("the answer broke off: %w", err)
	}
	a := Answer{Text: string(body), More: resp.Header.Get(MoreHeader) == "true", Status: resp.StatusCode}
	if resp.StatusCode/100 != 2 {
		return a, fmt.Errorf("the gateway answered %s: %s", resp.Status, strings.TrimSpace(a.Text))
	}
	if !a.More {
		p.network, p.keyed = "", nil
	}
	return a, nil
}

// MoreHeader is where the channels that the handset plays carry "an answer is
// expected".
const MoreHeader = "X-More"

// Timeout is longer than the gateway's own time limits.
const Timeout = 20 * time.Second
