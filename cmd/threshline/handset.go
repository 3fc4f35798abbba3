package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// handset is a phone and its carrier in one: it keeps a network session and
// sends what is keyed in as the channel's configuration says a carrier would.
type handset struct {
	base    string // address of the gateway, without a path
	channel carrier.Config
	number  string
	client  *http.Client
	newID   func() string

	network string   // id of the USSD session under way; empty when none is
	keyed   []string // inputs of this session, for channels that repeat them all
	lastURL string
	lastRaw string
}

// answer is one screen as the phone got it.
type answer struct {
	Text   string
	More   bool
	Status int
}

// dial opens a new USSD session, as after *code#.
func (h *handset) dial(ctx context.Context) (answer, error) {
	h.network, h.keyed = h.newID(), nil
	return h.send(ctx, "", session.Start)
}

// key answers the open screen, or sends an SMS.
func (h *handset) key(ctx context.Context, text string) (answer, error) {
	h.keyed = append(h.keyed, text)
	whole := text
	if h.channel.Read.Dialogue == "whole" {
		whole = strings.Join(h.keyed, h.separator())
	}
	return h.send(ctx, whole, session.Continue)
}

func (h *handset) separator() string {
	if h.channel.Read.Separator != "" {
		return h.channel.Read.Separator
	}
	return "*"
}

// drop loses the session without a word, as a weak network does.
func (h *handset) drop() { h.network, h.keyed = "", nil }

func (h *handset) send(ctx context.Context, text string, event session.Event) (answer, error) {
	form := url.Values{}
	put := func(at, value string) {
		if name, ok := strings.CutPrefix(at, "form:"); ok && value != "" {
			form.Set(name, value)
		}
	}
	read := h.channel.Read
	put(read.From, h.number)
	put(read.Message, h.newID())
	put(read.Session, h.network)
	put(read.Event, string(event))
	if name, ok := strings.CutPrefix(read.Text, "form:"); ok {
		form.Set(name, text) // the first request of a session has an empty text
	}
	h.lastURL, h.lastRaw = h.base+"/in/"+h.channel.Name, form.Encode()
	return h.deliver(ctx)
}

// again delivers the last request once more, as a carrier does that got no answer.
func (h *handset) again(ctx context.Context) (answer, error) {
	if h.lastURL == "" {
		return answer{}, fmt.Errorf("nothing was sent yet")
	}
	return h.deliver(ctx)
}

func (h *handset) deliver(ctx context.Context) (answer, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, h.lastURL, strings.NewReader(h.lastRaw))
	if err != nil {
		return answer{}, err
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	resp, err := h.client.Do(req)
	if err != nil {
		return answer{}, fmt.Errorf("no answer from the gateway: %w", err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
	if err != nil {
		return answer{}, fmt.Errorf("the answer broke off: %w", err)
	}
	a := answer{Text: string(body), More: resp.Header.Get(moreHeader) == "true", Status: resp.StatusCode}
	if resp.StatusCode/100 != 2 {
		return a, fmt.Errorf("the gateway answered %s: %s", resp.Status, strings.TrimSpace(a.Text))
	}
	if !a.More {
		h.network, h.keyed = "", nil
	}
	return a, nil
}

// moreHeader is where the channels that the handset plays carry "an answer is
// expected".
const moreHeader = "X-More"

// handsetTimeout is longer than the gateway's own time limits.
const handsetTimeout = 20 * time.Second
