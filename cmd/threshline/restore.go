package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"threshline/session/store/bolt"
)

type restoreCmd struct {
	Config      string `help:"The programme's configuration: it says where the store goes." required:"" type:"existingfile" placeholder:"FILE"`
	From        string `help:"The backup." type:"existingfile" placeholder:"FILE"`
	FromJournal string `help:"The journal; with --from, what the journal has more than the backup is added." type:"existingfile" placeholder:"FILE"`
	Overwrite   bool   `help:"Replace a store that is there."`
}

// Help is the longer text of `threshline restore --help`.
func (*restoreCmd) Help() string {
	return `Puts a store in place, verified, from a backup, from the journal, or from both.
The journal holds every filed check and every person, but no open dialogue, no
message that waits to go out, no account of the desk: with an older backup at hand
give both. The gateway must be stopped; it can be started right after.`
}

func (cmd *restoreCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := loadConfig(cmd.Config)
	if err != nil {
		return err
	}
	if cmd.From == "" && cmd.FromJournal == "" {
		return &fault{errors.New("restore: from what?"), "give --from a backup, --from-journal a journal, or both"}
	}
	path := cfg.storePath()
	if bolt.InUse(path) {
		return &fault{fmt.Errorf("restore: %q is in use", path), "stop the gateway first"}
	}
	err = cmd.restore(ctx, std.out, path)
	if errors.Is(err, os.ErrExist) {
		return &fault{err, "move the store away, or say --overwrite if it is worth nothing"}
	}
	return err
}

func (cmd *restoreCmd) restore(ctx context.Context, out io.Writer, path string) error {
	var backup io.Reader // stays nil without a backup
	if cmd.From != "" {
		file, err := os.Open(cmd.From)
		if err != nil {
			return fmt.Errorf("restore: %w", err)
		}
		defer file.Close()
		backup = file
	}
	if cmd.FromJournal == "" {
		if err := bolt.Restore(ctx, path, backup, cmd.Overwrite); err != nil {
			return err
		}
		fmt.Fprintf(out, "restored %s from the backup, verified\n", path)
		return nil
	}
	journal, err := os.Open(cmd.FromJournal)
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	defer journal.Close()
	found, err := bolt.Rebuild(ctx, path, backup, journal, cmd.Overwrite)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "restored %s from the journal, verified: %d records of checks, %d of people, %d erased\n", path, found.Checks, found.People, found.Erased)
	if found.Torn > 0 {
		fmt.Fprintf(out, "the journal's end is torn: its last %d bytes hold no whole record and were left out\n", found.Torn)
	}
	if found.Damaged > 0 {
		fmt.Fprintf(out, "%d records of the journal are damaged and were left out\n", found.Damaged)
	}
	return nil
}
