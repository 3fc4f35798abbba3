package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net/netip"
	"os"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/hear"
	"threshline/gateway/carrier"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/screen"
	"threshline/session/store/mem"
	"threshline/session/wording"
)

type hearCmd struct {
	Config  string `help:"Configuration; the demonstration's when not given." type:"existingfile" placeholder:"FILE"`
	Channel string `help:"Channel to hear it by; when not given the one that its address names, else the configuration's first." placeholder:"NAME"`
	Peer    string `help:"Address that the request came from, for guard.allow." placeholder:"ADDRESS"`
	Request string `arg:"" help:"The captured request: raw HTTP in a file, or - for standard input."`
}

func (cmd *hearCmd) Help() string {
	return `Shows what a channel makes of a captured request: whether its guard lets it in,
each field and where it was found, what a person who is new here would be
answered, and what the answer costs. Nothing is stored or sent. The request is
raw HTTP: a line such as "POST /in/valley-sms HTTP/1.1", headers, an empty line
and the body; with /receipt/valley-sms it is read as a delivery receipt. Exit
code 1 when it would be refused or not be understood.`
}

func (cmd *hearCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.LoadOrDemo(cmd.Config)
	if err != nil {
		return err
	}
	programme, words, err := cfg.Build()
	if err != nil {
		return err
	}
	raw, err := readCapture(cmd.Request, std.in)
	if err != nil {
		return err
	}
	request, err := carrier.ParseCaptured(raw)
	if err != nil {
		return err
	}
	chosen, err := channelOf(cfg, cmd.Channel, request)
	if err != nil {
		return err
	}
	if cmd.Peer != "" {
		if request.Peer, err = netip.ParseAddr(cmd.Peer); err != nil {
			return &fault{fmt.Errorf("--peer %q is not an address", cmd.Peer), "want such as 192.0.2.7"}
		}
	}
	setup := carrier.Setup{Region: cfg.Programme.Region, Secrets: carrier.Secrets(cfg.Dir)}
	channel, unread, err := channelToHear(chosen, setup)
	if err != nil {
		return err
	}
	understood := hear.Print(std.out, channel, request, hear.With{
		Unread: unread, Now: time.Now(), Currency: programme.Currency,
		Answer: func(in carrier.Inbound) (session.Reply, error) { return greet(ctx, programme, words, channel, in) },
	})
	if !understood {
		return errSaid
	}
	return nil
}

// channelOf finds the channel to hear a request by: the one that is named, or
// the one that its address names, or the first.
func channelOf(c *config.Config, name string, r *carrier.Request) (carrier.Config, error) {
	if name == "" {
		if _, named := hear.Addressed(r); named != "" {
			if chosen, err := c.Channel(named); err == nil {
				return chosen, nil
			}
		}
	}
	return c.Channel(name)
}

func readCapture(name string, stdin io.Reader) ([]byte, error) {
	const most = 2 << 20
	if name == "-" {
		return io.ReadAll(io.LimitReader(stdin, most))
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, most))
}

// channelToHear builds a channel; without its guard when the secrets are not
// at hand, as on somebody's own machine. unread is then why.
func channelToHear(cfg carrier.Config, setup carrier.Setup) (c *carrier.Channel, unread, err error) {
	c, err = carrier.New(cfg, setup)
	if err == nil || !errors.Is(err, carrier.ErrSecret) {
		return c, nil, err
	}
	unread = err
	setup.Unguarded = true
	c, err = carrier.New(cfg, setup)
	return c, unread, err
}

// greet is the answer that a new person would get: the dialogue runs on an
// empty store that is thrown away.
func greet(ctx context.Context, p *programme.Programme, words *wording.Catalogue, c *carrier.Channel, in carrier.Inbound) (session.Reply, error) {
	store := mem.New(mem.Options{})
	defer store.Close()
	machine := screen.NewMachine(p, words)
	machine.Number = func(digits string) (session.Phone, bool) { return carrier.Local(digits, p.Region) }
	text, _ := c.Latest("", in)
	outcome, err := store.Exchange(ctx, session.Key{Phone: in.From}, func(v session.View) (session.Writes, error) {
		var bits [16]byte
		if _, err := rand.Read(bits[:]); err != nil {
			return session.Writes{}, err
		}
		return machine.Step(v, session.Input{
			Channel: in.Channel, Kind: in.Kind, Event: in.Event, Phone: in.From, Text: text,
			NetworkSession: in.NetworkSession, At: time.Now(), Budget: c.Budget(), Star: c.Star(),
			Entropy: [2]uint64{binary.LittleEndian.Uint64(bits[:8]), binary.LittleEndian.Uint64(bits[8:])},
		})
	})
	return outcome.Reply, err
}
