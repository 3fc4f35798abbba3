package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/cmd/threshline/load"
	"threshline/cmd/threshline/progress"
	"threshline/gateway/desk/access"
)

type loadCmd struct {
	Phones   []int         `help:"How many phones talk at once." default:"1,32,128,512"`
	For      time.Duration `help:"How long each part is measured with so many phones." default:"5s"`
	At       string        `help:"Address of a running gateway with open channels, such as a demonstration's; parts of its own when not given." placeholder:"URL"`
	Dir      string        `help:"Folder for the stores of its own: choose the disk to measure. A new one that is removed when not given." type:"existingdir" placeholder:"DIR"`
	URL      string        `help:"Measure over this database instead of files; parts of their own schemas, which are dropped afterwards." placeholder:"env:NAME|file:PATH"`
	Season   int           `help:"Measure a gateway with so many filed checks beside the fresh one; a million takes some minutes to file." placeholder:"CHECKS"`
	Export   bool          `help:"Also export all checks of the season as CSV, alone and while the phones talk at 0.7 of their rate."`
	JSON     bool          `name:"json" help:"Write one JSON object for each part and number of phones."`
	Profiles string        `help:"Write a profile of each part's processor time into this folder, for go tool pprof." type:"existingdir" placeholder:"DIR"`
	Program  string        `help:"The program whose parts are measured; this one when not given." hidden:""`
}

// Help is the longer text of `threshline load --help`.
func (*loadCmd) Help() string {
	return `Measures a gateway as carriers would load it: every phone is in a dialogue, sends
its next entry when it has read the answer to the one before, and files check after
check. First as fast as it goes, then at half that speed, where each time counts
from when the message was due.

In turns, each in a process of its own: "fresh", the whole gateway over a new store,
with ledger, desk, learning and queue; "full", the same over --season checks; and
two ceilings, the same requests through a bare router and one put, synced to the
same disk: of 300 bytes ("of bare"), and of as many as an exchange puts ("of equal").
CPU, bytes and memory are those of the part alone. With --url the bare put is one
batch with a synced commit by the same connections, CPU is that of the gateway
without the database's, and bytes to disk are the database's log.

Never aim it at a gateway in use: what it files stays filed.`
}

func (cmd *loadCmd) Run(ctx context.Context, std stdio) (err error) {
	cfg, err := config.LoadOrDemo("")
	if err != nil {
		return err
	}
	channel, err := cfg.Channel("valley-ussd")
	if err != nil {
		return err
	}
	if cmd.Program == "" {
		if cmd.Program, err = os.Executable(); err != nil {
			return err
		}
	}
	run := load.Run{
		Phones: cmd.Phones, For: cmd.For, At: cmd.At, Dir: cmd.Dir, Season: cmd.Season, JSON: cmd.JSON, Channel: channel,
		Program: []string{cmd.Program, "load-part", "--url=" + cmd.URL, "--profiles=" + cmd.Profiles},
		Export:  cmd.Export,
		Fill: func(ctx context.Context, path string, checks int) (string, error) {
			bar := progress.Steps(std.err, "season", "checks", int64(checks))
			defer bar.End()
			return fillForLoad(ctx, cmd.URL, path, checks, bar.Add)
		},
	}
	bar := progress.Steps(std.err, "load", "steps", int64(run.Steps()))
	defer bar.End()
	run.Step = bar.Add
	return run.Print(ctx, bar.Above(std.out))
}

// fillForLoad files so many invented checks in a new store, and makes a token that may
// export them.
func fillForLoad(ctx context.Context, url, path string, checks int, filed func(int)) (token string, err error) {
	cfg, err := configForLoad(url, path)
	if err != nil {
		return "", err
	}
	p, _, err := cfg.Build()
	if err != nil {
		return "", err
	}
	store, err := openEngine(cfg, ctx, path, nil)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	if err := demo.Fill(ctx, store, p, time.Now(), checks, filed); err != nil {
		return "", err
	}
	return tokenIn(ctx, store, machineWish{Token: access.Wish{Name: "load", Scopes: []string{access.ScopeExport}, AllDistricts: true, Days: 1}})
}

// configForLoad is the demonstration's programme, with no limit on what a phone
// may send. With a database, a schema of it stands for the file at the path.
func configForLoad(url, path string) (*config.Config, error) {
	cfg, err := config.LoadOrDemo("")
	if err != nil {
		return nil, err
	}
	if url != "" {
		name := sha256.Sum256([]byte(path))
		cfg.Store = config.Store{Engine: config.DatabaseEngine, URL: url, Schema: fmt.Sprintf("load_%x", name[:8])}
	}
	cfg.Programme.Languages = []string{"en"}
	cfg.Limits = config.Limits{PhoneBurst: 1 << 30, PhoneEvery: 1, PhonePerDay: 1 << 30}
	return cfg, nil
}

// openForLoad opens the whole station over a store, with all that is in it read.
func openForLoad(ctx context.Context, url, path string) (*station, error) {
	cfg, err := configForLoad(url, path)
	if err != nil {
		return nil, err
	}
	s, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		return nil, err
	}
	return s, s.feed.CatchUp(ctx)
}
