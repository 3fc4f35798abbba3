package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/cmd/threshline/handset"
	"threshline/cmd/threshline/progress"
)

type demoCmd struct {
	Address  string `help:"Address to listen on; port 0 takes a free one." default:"127.0.0.1:8080"`
	Database string `help:"A PostgreSQL database for the store, instead of a file: env:NAME or file:PATH of its address." placeholder:"REF"`
	Dir      string `help:"Folder for the store, kept afterwards; a new one that is removed when not given." type:"path" placeholder:"DIR"`
}

func (cmd *demoCmd) Help() string {
	return "The Mbuyu Valley rice scheme, its people, lots and prices are invented.\n\n" + handset.Help
}

func (cmd *demoCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.Parse("demo.toml", demo.Config)
	if err != nil {
		return err
	}
	dir, tidy, err := cmd.folder()
	if err != nil {
		return err
	}
	defer tidy()
	logFile, err := os.Create(filepath.Join(dir, "threshline.log"))
	if err != nil {
		return err
	}
	defer logFile.Close()
	path := filepath.Join(dir, "threshline.db")
	if cmd.Database != "" {
		cfg.Store.Engine, cfg.Store.URL = config.DatabaseEngine, cmd.Database
	}
	s, err := openStation(cfg, path, zerolog.New(logFile).With().Timestamp().Logger())
	if err != nil {
		return err
	}
	err = cmd.play(ctx, s, std, path, logFile.Name())
	return errors.Join(err, s.close())
}

// folder is where the demonstration's files go.
func (cmd *demoCmd) folder() (dir string, tidy func(), err error) {
	if cmd.Dir != "" {
		return cmd.Dir, func() {}, os.MkdirAll(cmd.Dir, 0o700)
	}
	dir, err = os.MkdirTemp("", "threshline-demo-")
	return dir, func() { os.RemoveAll(dir) }, err
}

// play fills the store, serves it, and lets the handset talk to it.
func (cmd *demoCmd) play(ctx context.Context, s *station, std stdio, path, logPath string) error {
	season, err := demo.File(ctx, s.store, s.programme, time.Now())
	if err != nil {
		return fmt.Errorf("fill the invented season: %w", err)
	}
	if err := demo.FileHands(ctx, s.store, s.programme); err != nil {
		return fmt.Errorf("fill the invented season: %w", err)
	}
	if next, err := s.relearnt(ctx); err != nil {
		return err
	} else if next != nil {
		s = next
	}
	listener, err := listen(cmd.Address)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	done := make(chan error, 1)
	go func() { done <- s.run(ctx, listener) }()
	base := s.base(listener.Addr().String())
	where, err := s.deskLine(ctx, base, true)
	if err != nil {
		stop()
		return errors.Join(err, <-done)
	}
	fmt.Fprintf(std.out, "%s (invented)\n  %s\n  gateway  %s\n  desk     %s\n  store    %s\n  log      %s\n\n",
		s.programme.Name, season, base, where, s.cfg.Where(path), logPath)
	if progress.Terminal(std.in) {
		channel, _ := s.cfg.Channel("valley-ussd")
		err := handset.New(base, channel, "+33639980042").Play(ctx, std.in, std.out, true)
		stop()
		return errors.Join(err, <-done)
	}
	fmt.Fprintf(std.out, curlHelp, base, base, base)
	err = <-done
	fmt.Fprintln(std.out, "stopped")
	return err
}

// curlHelp is printed where there is no terminal for the handset.
const curlHelp = `There is no terminal here, so talk to it from another one:
  curl -d 'msisdn=+33639980042&sid=1&mid=1&input='  %s/in/valley-ussd
  curl -d 'msisdn=+33639980042&sid=1&mid=2&input=1' %s/in/valley-ussd
or with the handset: threshline phone --at %s
Stop it with Ctrl-C.
`
