package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/gateway/desk/access"
	"threshline/session/store/bolt"
)

type accessCmd struct {
	Link  accessLinkCmd  `cmd:"" help:"Make a one-time link for an administrator."`
	Token accessTokenCmd `cmd:"" help:"Make a token for a program."`
}

// Help is the longer text of `threshline access --help`.
func (*accessCmd) Help() string {
	return `For whoever is at the machine that the gateway runs on. A link lets in the first
administrator, or one who lost the password or the second factor: both are chosen
anew. A token lets in a program before anybody is at the desk.

A running gateway is asked through a socket beside its store, which only its own
user and root can open; otherwise the store is opened. Both are written to the
audit log. Whoever has the link or the token comes in: give it to nobody else.`
}

type accessLinkCmd struct {
	Config string `help:"The programme's configuration." required:"" type:"existingfile" placeholder:"FILE"`
	Name   string `arg:"" optional:"" help:"The administrator who comes back; a new one when not given."`
}

func (cmd *accessLinkCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.Load(cmd.Config)
	if err != nil {
		return err
	}
	path, err := atMachine(ctx, cfg, machineWish{Link: true, Name: cmd.Name})
	if err == nil {
		fmt.Fprintln(std.out, cfg.URL()+path)
	}
	return err
}

type accessTokenCmd struct {
	Config   string   `help:"The programme's configuration." required:"" type:"existingfile" placeholder:"FILE"`
	Name     string   `help:"What the token is for." required:""`
	Scope    []string `help:"What it may do: export, identified, roster, backup, tokens, upkeep." required:"" enum:"export,identified,roster,backup,tokens,upkeep"`
	Days     int      `help:"For how many days it is good, 1 to 366." default:"90"`
	District []string `help:"Districts that it is for; all of them when none is given."`
}

func (cmd *accessTokenCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.Load(cmd.Config)
	if err != nil {
		return err
	}
	token, err := atMachine(ctx, cfg, machineWish{Token: access.Wish{
		Name: cmd.Name, Scopes: cmd.Scope, Days: cmd.Days, Districts: cmd.District, AllDistricts: len(cmd.District) == 0,
	}})
	if err == nil {
		fmt.Fprintln(std.out, token)
	}
	return err
}

// machineWish is a request for a link or a token from a person at the machine.
type machineWish struct {
	Link  bool        `json:"link,omitempty"`
	Name  string      `json:"name,omitempty"`
	Token access.Wish `json:"token"`
}

// grant makes the link or token of the request.
func (w *machineWish) grant(ctx context.Context, g *access.Guard) (made string, err error) {
	if w.Link {
		return g.Readmit(ctx, w.Name)
	}
	_, made, err = g.NewToken(ctx, access.Machine, w.Token)
	return made, err
}

// atMachine makes a link or a token in the store, or asks the gateway that has it
// open.
func atMachine(ctx context.Context, cfg *config.Config, wish machineWish) (made string, err error) {
	if _, err := os.Stat(cfg.StorePath()); err != nil && cfg.Store.Engine == config.FileEngine {
		return "", &fault{err, "the gateway makes the store when it starts for the first time"}
	}
	store, err := openEngine(cfg, ctx, cfg.StorePath(), nil)
	if errors.Is(err, bolt.ErrLocked) {
		return askLocal(ctx, cfg, wish)
	}
	if err != nil {
		return "", err
	}
	defer store.Close()
	return tokenIn(ctx, store, wish)
}

// tokenIn makes a link or a token in an open store.
func tokenIn(ctx context.Context, store engine, wish machineWish) (made string, err error) {
	guard, err := access.New(access.Config{Records: store, Book: store, Now: time.Now, Log: zerolog.Nop()})
	if err != nil {
		return "", err
	}
	if made, err = wish.grant(ctx, guard); err != nil {
		if problem, ok := access.Wrongly(err); ok {
			err = errors.New("access: " + problem)
		}
	}
	return made, err
}
