package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/progress"
	"threshline/session"
	"threshline/session/store/bolt"
	"threshline/session/store/journal"
	"threshline/session/store/postgres"
	"threshline/session/store/record"
)

type restoreCmd struct {
	Config      string   `help:"The programme's configuration: it says where the store goes." required:"" type:"existingfile" placeholder:"FILE"`
	From        string   `help:"The backup." type:"existingfile" placeholder:"FILE"`
	FromJournal []string `help:"The journal; with --from, what the journal has more than the backup is added. Of several gateways over one database, each's." sep:"none" type:"existingfile" placeholder:"FILE"`
	Overwrite   bool     `help:"Replace a store that is there."`
}

// Help is the longer text of `threshline restore --help`.
func (*restoreCmd) Help() string {
	return `Puts a store in place, verified, from a backup, from the journal, or from both:
into a file or a database, as the configuration says, whatever kept it before.
The journal holds every filed check and every person, but no open dialogue, no
message that waits to go out, no account of the desk: with an older backup at hand
give both. The gateway must be stopped; it can be started right after. Where several
gateways had journals of one database, give --from-journal once for each.`
}

func (cmd *restoreCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.Load(cmd.Config)
	if err != nil {
		return err
	}
	if cmd.From == "" && len(cmd.FromJournal) == 0 {
		return &fault{errors.New("restore: from what?"), "give --from a backup, --from-journal a journal, or both"}
	}
	if cfg.Store.Engine == config.DatabaseEngine {
		return cmd.intoDatabase(ctx, std, cfg)
	}
	path := cfg.StorePath()
	if bolt.InUse(path) {
		return &fault{fmt.Errorf("restore: %q is in use", path), "stop the gateway first"}
	}
	err = cmd.restore(ctx, std, path)
	if errors.Is(err, os.ErrExist) {
		return &fault{err, "move the store away, or say --overwrite if it is worth nothing"}
	}
	return err
}

// intoDatabase fills the database of the configuration. The file is put in
// place first, and verified so, since a backup may be of an older program.
func (cmd *restoreCmd) intoDatabase(ctx context.Context, std stdio, cfg *config.Config) error {
	url, err := cfg.DatabaseURL()
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "threshline-restore-")
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "store.db")
	quiet := std
	quiet.out = io.Discard                // the file is not where the store goes
	loss := cmd.restore(ctx, quiet, path) // what could be read of a journal may be in place all the same
	if _, err := os.Stat(path); err != nil {
		return loss
	}
	file, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		return err
	}
	counts := 0
	all := func(yield func(record.Thing) error) error {
		return file.Export(ctx, func(t record.Thing) error {
			if t.Check != nil {
				counts++
			}
			return yield(t)
		})
	}
	err = errors.Join(postgres.Import(ctx, url, all, databaseOptions(cfg), cmd.Overwrite), file.Close())
	if errors.Is(err, session.ErrExists) {
		return &fault{err, "use another database or schema, or say --overwrite if what it holds is worth nothing"}
	}
	if err != nil {
		return databaseFault(err)
	}
	fmt.Fprintf(std.out, "restored %s: %d checks and all that belongs to them\n", cfg.Where(""), counts)
	return loss
}

func (cmd *restoreCmd) restore(ctx context.Context, std stdio, path string) error {
	var backup io.Reader // stays nil without a backup
	if cmd.From != "" {
		file, err := os.Open(cmd.From)
		if err != nil {
			return fmt.Errorf("restore: %w", err)
		}
		defer file.Close()
		bar := std.reading("backup", file)
		defer bar.End()
		backup = bar.Reader(file)
	}
	if len(cmd.FromJournal) == 0 {
		if err := bolt.Restore(ctx, path, backup, cmd.Overwrite); err != nil {
			return err
		}
		fmt.Fprintf(std.out, "restored %s from the backup, verified\n", path)
		return nil
	}
	if _, err := os.Lstat(path); err == nil && !cmd.Overwrite {
		return fmt.Errorf("restore: %q: %w", path, os.ErrExist)
	}
	var losses error
	for i, from := range cmd.FromJournal {
		// The next journal adds to what this one gave.
		to, last := fmt.Sprintf("%s.journal-%d", path, i+1), i == len(cmd.FromJournal)-1
		if last {
			to = path
		}
		loss, err := addJournal(ctx, std, to, backup, from)
		if err != nil {
			return err
		}
		losses = errors.Join(losses, loss)
		if !last {
			defer os.Remove(to)
			file, err := os.Open(to)
			if err != nil {
				return fmt.Errorf("restore: %w", err)
			}
			defer file.Close()
			backup = file
		}
	}
	return losses
}

// addJournal makes the store at a path of a backup, which may be nil, and a
// journal. It says what could not be read of that.
func addJournal(ctx context.Context, std stdio, path string, backup io.Reader, name string) (loss, err error) {
	from, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("restore: %w", err)
	}
	defer from.Close()
	bar := std.reading("journal", from)
	found, err := bolt.Rebuild(ctx, path, backup, progress.File{File: from, Bar: bar}, true)
	bar.End()
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(std.out, "restored %s from the journal, verified: %d records of checks, %d of people, %d erased\n", path, found.Checks, found.People, found.Erased)
	if found.Torn > 0 {
		fmt.Fprintf(std.out, "the journal's end is torn: its last %d bytes hold no whole record and were left out\n", found.Torn)
	}
	return lossOf(&found), nil
}

// mostTold is how many gaps of a journal are listed one by one.
const mostTold = 20

// lossOf says what of a journal could not be read; nil when no more than a
// power cut explains.
func lossOf(found *journal.Records) error {
	if !found.Lossy() {
		return nil
	}
	var told []string
	for _, gap := range found.Gaps[:min(len(found.Gaps), mostTold)] {
		told = append(told, fmt.Sprintf("%d bytes at %d", gap.Length, gap.At))
	}
	if more := len(found.Gaps) - len(told); more > 0 {
		told = append(told, fmt.Sprintf("%d more parts", more))
	}
	held := fmt.Sprintf("between the checks that could be read at most %d are missing", found.Missing)
	if len(found.Gaps) == 0 {
		told, held = []string{fmt.Sprintf("%d bytes at %d", found.Torn, found.End)}, "what the end held is not known"
	}
	return &fault{
		fmt.Errorf("restore: the store is in place, but parts of the journal could not be read: %s; %s", strings.Join(told, ", "), held),
		"keep the journal for study; if a newer backup is at hand, restore again with --from",
	}
}
