package main

import (
	"context"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/handset"
	"threshline/cmd/threshline/progress"
)

type phoneCmd struct {
	Config  string `help:"Configuration whose channel to use; the demonstration's when not given." type:"existingfile" placeholder:"FILE"`
	Channel string `help:"Channel to talk through; the configuration's first when not given." placeholder:"NAME"`
	At      string `help:"Address of the gateway." default:"http://127.0.0.1:8080" placeholder:"URL"`
	Number  string `help:"The handset's own number, from a range kept for fiction." default:"+33639980042"`
}

func (cmd *phoneCmd) Help() string { return handset.Help }

func (cmd *phoneCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.LoadOrDemo(cmd.Config)
	if err != nil {
		return err
	}
	channel, err := cfg.Channel(cmd.Channel)
	if err != nil {
		return err
	}
	return handset.New(cmd.At, channel, cmd.Number).Play(ctx, std.in, std.out, progress.Terminal(std.in))
}
