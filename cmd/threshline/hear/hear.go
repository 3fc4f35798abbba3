// Package hear shows what a channel makes of a captured request.
package hear

import (
	"fmt"
	"io"
	"strings"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
)

// Addressed is what the address of a request says: a message or a receipt, and
// the channel's name; empty where it is none of ours.
func Addressed(r *carrier.Request) (what, channel string) {
	parts := strings.Split(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if len(parts) < 2 || parts[0] != "in" && parts[0] != "receipt" {
		return "", ""
	}
	return parts[0], parts[1]
}

// With is what Print needs besides the channel and the request.
type With struct {
	Unread   error     // why the guard's secrets were not read; nil when they were
	Now      time.Time // when the guard is asked, unless the request is signed with a time
	Currency string
	Answer   func(carrier.Inbound) (session.Reply, error)
}

// Print prints what a channel makes of a captured request. It reports whether the
// request would be let in and was understood.
func Print(w io.Writer, c *carrier.Channel, r *carrier.Request, with With) (understood bool) {
	p := &heard{w: w, channel: c, request: r, With: with}
	p.line("channel", "%s (%s), %s %s, %d bytes of body", c.Name(), c.Kind(), r.Method, r.URL.Path, len(r.Body))
	what, named := Addressed(r)
	if named != "" && named != c.Name() {
		p.line("", "the address is that of a channel %q: --channel hears it by another", named)
	}
	p.guard()
	if what == "receipt" {
		p.receipts()
	} else {
		p.messages()
	}
	return !p.bad
}

// heard prints one request.
type heard struct {
	With
	w       io.Writer
	channel *carrier.Channel
	request *carrier.Request
	bad     bool
}

func (p *heard) line(name, format string, args ...any) {
	text := strings.ReplaceAll(fmt.Sprintf(format, args...), "\n", "\n          ")
	fmt.Fprintf(p.w, "%-9s %s\n", name, text)
}

func (p *heard) guard() {
	if p.Unread != nil {
		p.line("guard", "not asked: %v", p.Unread)
		return
	}
	now, note := p.Now, ""
	if at, ok := p.channel.SignedAt(p.request); ok {
		now, note = at, fmt.Sprintf(", at the time it was signed, %s", at.UTC().Format(time.RFC3339))
	}
	if err := p.channel.Admit(p.request, now); err != nil {
		p.bad = true
		p.line("guard", "NO: %v", err)
		if !p.request.Peer.IsValid() && len(p.channel.Config().Guard.Allow) > 0 && p.channel.Config().Guard.Proxies == 0 {
			p.line("", "a capture does not say where it came from: --peer ADDRESS does")
		}
		return
	}
	if p.channel.Config().Guard.Open {
		p.line("guard", "open: anybody may send")
		return
	}
	p.line("guard", "lets it in%s", note)
}
