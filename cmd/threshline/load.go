package main

import (
	"context"
	"errors"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/load"
)

type loadCmd struct {
	Phones []int         `help:"How many phones talk at once." default:"1,32,128,512"`
	For    time.Duration `help:"How long each measurement takes." default:"5s"`
	At     string        `help:"Address of a running gateway with open channels, such as a demonstration's; one of its own when not given." placeholder:"URL"`
	Dir    string        `help:"Folder for the stores of its own: choose the disk to measure. A new one that is removed when not given." type:"existingdir" placeholder:"DIR"`
}

// Help is the longer text of `threshline load --help`.
func (*loadCmd) Help() string {
	return `Measures a gateway as carriers would load it: every phone is in a dialogue, sends
its next entry when it has read the answer to the one before, and files check after
check. First as fast as it goes, then at half that speed, where each time counts
from when the message was due. Beside a gateway of its own it measures the ceiling:
the same requests through a bare put of as many bytes, synced to the same disk.
Never aim it at a gateway in use: what it files stays filed.`
}

func (cmd *loadCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := loadConfigOrDemo("")
	if err != nil {
		return err
	}
	channel, err := cfg.channel("valley-ussd")
	if err != nil {
		return err
	}
	run := load.Run{Phones: cmd.Phones, For: cmd.For, At: cmd.At, Dir: cmd.Dir, Channel: channel, Open: openForLoad}
	return run.Print(ctx, std.out)
}

// openForLoad serves the demonstration's programme over a new store, with no
// limit on what a phone may send.
func openForLoad(ctx context.Context, path string) (g load.Gateway, err error) {
	cfg, err := loadConfigOrDemo("")
	if err != nil {
		return g, err
	}
	cfg.Programme.Languages = []string{"en"}
	cfg.Limits = limitsConfig{PhoneBurst: 1 << 30, PhoneEvery: 1, PhonePerDay: 1 << 30}
	s, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		return g, err
	}
	listener, err := listen("127.0.0.1:0")
	if err != nil {
		return g, errors.Join(err, s.close())
	}
	ctx, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- s.run(ctx, listener) }()
	return load.Gateway{
		Base: "http://" + listener.Addr().String(), Written: s.store.Written,
		Stop: func() error { stop(); return errors.Join(<-done, s.close()) },
	}, nil
}
