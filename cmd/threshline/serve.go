package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"syscall"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/progress"
	"threshline/gateway"
)

type serveCmd struct {
	Config string `help:"The programme's configuration." required:"" type:"existingfile" placeholder:"FILE"`
	Debug  bool   `help:"Log more, still without numbers or texts."`
}

func (cmd *serveCmd) Run(ctx context.Context, std stdio) error {
	defer gateway.Ballast()()
	again, stop := hangups(cmd.Config)
	defer stop()
	cfg, err := config.Load(cmd.Config)
	if err != nil {
		return err
	}
	level := zerolog.InfoLevel
	if cmd.Debug {
		level = zerolog.DebugLevel
	}
	log := zerolog.New(std.err).Level(level).With().Timestamp().Logger()
	path := cfg.StorePath()
	s, err := openStation(cfg, path, log)
	if err != nil {
		return err
	}
	s.memory = newMemory(log)
	listener, err := listen(cfg.Listen.Address)
	if err != nil {
		return errors.Join(err, s.close())
	}
	log.Info().Str("programme", cfg.Programme.Name).Stringer("address", listener.Addr()).Str("store", cfg.Where(path)).
		Str("standard", s.programme.Standard.ID).Str("version", version()).Msg("serving")
	s.serveLocal(ctx)
	where, err := s.deskLine(ctx, s.base(listener.Addr().String()), progress.Terminal(std.out))
	if err != nil {
		return errors.Join(err, listener.Close(), s.close())
	}
	fmt.Fprintln(std.out, "desk", where)
	err = errors.Join(newLive(s).run(ctx, listener, again), s.close())
	log.Info().Err(err).Msg("stopped")
	return err
}

// listen opens the gateway's address, with a hint when it is taken.
func listen(address string) (net.Listener, error) {
	l, err := net.Listen("tcp", address)
	if errors.Is(err, syscall.EADDRINUSE) {
		return nil, &fault{fmt.Errorf("cannot listen: %w", err), "another program uses that address; set another one in [listen], or with --address for the demonstration"}
	}
	return l, err
}
