package main

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"github.com/gorilla/mux"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/feed"
	"threshline/gateway/carrier"
	"threshline/gateway/desk"
	"threshline/gateway/desk/access"
	"threshline/gateway/desk/reckon"
	"threshline/grading"
	"threshline/session"
	"threshline/session/screen"
)

// openDesk makes the coordinator's desk over the station's store.
func (s *station) openDesk() (d *desk.Desk, err error) {
	if s.feed == nil {
		if s.feed, err = feed.New(s.store, s.programme); err != nil {
			return nil, err
		}
	}
	practice := newPractice(s.programme, s.words)
	return desk.New(desk.Config{
		Programme: s.programme, Records: s.store, Accounts: s.store, Shelf: s.store, Backup: s.store, Upkeep: upkeep{s}, Roster: people{s},
		Ledger: s.feed.Ledger, Standards: s.feed.Known, Fresh: s.feed.Fresh, Progress: s.feed.Progress, Pace: reckon.Pace{Ahead: s.feed.Season}, Clear: s.clear, Metered: s.tellMetered, Handset: practice, Channels: deskChannels(s.cfg),
		Now: time.Now, Log: s.log, Secure: s.cfg.Listen.TLSCert != "" || s.cfg.Desk.BehindTLS, Address: access.Behind(s.cfg.Desk.Proxies),
		OneFactor: s.cfg.Desk.OneFactor, Entries: s.metrics.Entry,
	})
}

// tellMetered makes the station read the desk's meters again.
func (s *station) tellMetered() {
	select {
	case s.metered <- struct{}{}:
	default: // it is about to look anyway
	}
}

// clear takes signs off a lot, by the programme in force.
func (s *station) clear(v session.View, slip session.Slip, what session.Clearance, tables func(id, edition string) *grading.Standard, entropy [2]uint64) (session.Writes, error) {
	return screen.NewMachine(s.programme, s.words).Clear(v, slip, what, tables, entropy, smsBudget())
}

// desk makes the routes of the coordinator's desk, to stand beside the
// gateway's own.
func (s *station) desk() (func(*mux.Router), error) {
	d, err := s.openDesk()
	if err != nil {
		return nil, err
	}
	s.front = d
	return d.Beside, nil
}

// deskLine says where the desk is, for what a start prints. While there is no
// administrator, the line has the one-time link for the first one, but only if
// a person reads it: in a log it would stay.
func (s *station) deskLine(ctx context.Context, base string, read bool) (string, error) {
	if !read {
		none, err := s.front.Guard().Nobody(ctx)
		if err == nil && none {
			base += "/desk/  (nobody can sign in yet: threshline access link lets in the first administrator)"
		} else {
			base += "/desk/"
		}
		return base, err
	}
	path, err := s.front.Guard().FirstLink(ctx)
	if err != nil {
		return "", fmt.Errorf("desk: %w", err)
	}
	if path == "" {
		return base + "/desk/", nil
	}
	return base + path + "  (once, for the first administrator)", nil
}

// deskChannels is what the desk shows of the channels: no secret.
func deskChannels(c *config.Config) (list []desk.ChannelFacts) {
	for _, ch := range c.Channels {
		shown := desk.ChannelFacts{Name: ch.Name, Kind: ch.Kind, Budget: ch.Budget, Guards: guards(ch)}
		shown.Budget = cmp.Or(shown.Budget, carrier.DefaultBudget)
		if ch.Send != nil {
			shown.Sends, shown.PerSegment, shown.DailyLimit = true, ch.Send.PerSegment, ch.Send.DailyLimit
		}
		list = append(list, shown)
	}
	return list
}

// guards says in words how a channel's carrier proves itself.
func guards(c carrier.Config) string {
	g := c.Guard
	switch {
	case g.Open:
		return "nothing: open to anybody who reaches the address"
	case len(g.Allow) > 0 && g.Token != "":
		return "a token and its address"
	case g.Token != "":
		return "a token"
	case len(g.Allow) > 0:
		return "its address"
	}
	return "a signature"
}

// base is how a person reaches the station's own address in a browser.
func (s *station) base(address string) string {
	if s.cfg.Listen.TLSCert != "" {
		return "https://" + address
	}
	return "http://" + address
}

var _ desk.Handset = (*practice)(nil)

// practiceNumber is a visitor's number on the practice handset, from a range
// that is kept for fiction.
func practiceNumber(whose string) session.Phone {
	sum := uint32(2166136261)
	for i := range len(whose) {
		sum = (sum ^ uint32(whose[i])) * 16777619
	}
	return session.Phone(fmt.Sprintf("+3363998%04d", sum%10_000))
}
