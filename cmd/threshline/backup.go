package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"

	"threshline/cmd/threshline/config"
	"threshline/gateway/carrier"
	"threshline/session/store/bolt"
	"threshline/session/store/journal"
)

type backupCmd struct {
	Config    string `help:"The programme's configuration." required:"" type:"existingfile" placeholder:"FILE"`
	To        string `help:"Where the backup goes." required:"" placeholder:"FILE"`
	Overwrite bool   `help:"Replace a file that is there."`
	Token     string `help:"Where the token for a running gateway is: env:NAME or file:PATH." placeholder:"REF"`
	At        string `help:"Address of the running gateway; the one of the configuration when not given." placeholder:"URL"`
}

// Help is the longer text of `threshline backup --help`.
func (*backupCmd) Help() string {
	return `Writes a whole copy of the store, verifies it, and puts it in place. While the
gateway runs the copy comes from it, over its own address: that needs a token with
the scope "backup", which an administrator makes at the desk. Backups hold phone
numbers: keep them as safe as the store itself.`
}

func (cmd *backupCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := config.Load(cmd.Config)
	if err != nil {
		return err
	}
	if err := notInUse(cmd.To, cfg); err != nil {
		return err
	}
	if _, err := os.Lstat(cmd.To); err == nil && !cmd.Overwrite {
		return &fault{fmt.Errorf("backup: %q is there already", cmd.To), "choose another name, or say --overwrite"}
	}
	if cmd.Token != "" {
		err = cmd.fetch(ctx, cfg, std)
	} else {
		err = cmd.copy(ctx, cfg, std)
	}
	if err != nil {
		return err
	}
	info, err := os.Stat(cmd.To)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	fmt.Fprintf(std.out, "backup   %s, %d bytes, verified\n", cmd.To, info.Size())
	return nil
}

// notInUse refuses to put a copy in place of the store or its journal, or of
// any store that a process has open.
func notInUse(to string, cfg *config.Config) error {
	info, err := os.Stat(to)
	if err != nil {
		return nil
	}
	for _, path := range []string{cfg.StorePath(), cfg.Beside(cfg.Store.Journal)} {
		if of, err := os.Stat(path); err == nil && os.SameFile(info, of) {
			return &fault{fmt.Errorf("%q is the store itself", to), "choose another file"}
		}
	}
	if bolt.InUse(to) {
		return &fault{fmt.Errorf("%q is in use", to), "choose another file"}
	}
	return nil
}

// copy backs up a store file that is not in use, or a database at any time.
func (cmd *backupCmd) copy(ctx context.Context, cfg *config.Config, std stdio) error {
	if cfg.Store.Engine == config.DatabaseEngine {
		store, err := openEngine(cfg, ctx, "", nil)
		if err != nil {
			return err
		}
		return errors.Join(store.BackupFile(ctx, cmd.To), store.Close())
	}
	info, err := os.Stat(cfg.StorePath())
	if err != nil {
		return fmt.Errorf("backup: %w", err) // Open would make an empty one
	}
	bar := std.taking("backup", info.Size())
	defer bar.End()
	options := storeOptions(cfg)
	options.Copied = bar.Add
	store, err := bolt.Open(cfg.StorePath(), options)
	if errors.Is(err, bolt.ErrLocked) {
		return &fault{err, "the gateway is running: give --token with a token that may make backups, or stop the gateway"}
	}
	if err != nil {
		return err
	}
	return errors.Join(store.BackupFile(ctx, cmd.To), store.Close())
}

// fetch asks the running gateway for a backup.
func (cmd *backupCmd) fetch(ctx context.Context, cfg *config.Config, std stdio) error {
	token, err := carrier.Secrets(cfg.Dir)(cmd.Token)
	if err != nil {
		return fmt.Errorf("backup: --token: %w", err)
	}
	base := cmp.Or(cmd.At, cfg.URL())
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimSuffix(base, "/")+"/admin/v1/backup", nil)
	if err != nil {
		return fmt.Errorf("backup: --at: %w", err)
	}
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return &fault{fmt.Errorf("backup: %w", err), "is the gateway running there? give its address with --at"}
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		text, _ := io.ReadAll(io.LimitReader(resp.Body, 4<<10))
		return &fault{fmt.Errorf("backup: the gateway answered %s: %s", resp.Status, strings.TrimSpace(string(text))), "the token must be one that may make backups"}
	}
	bar := std.taking("backup", resp.ContentLength)
	defer bar.End()
	return bolt.Restore(ctx, cmd.To, bar.Reader(resp.Body), cmd.Overwrite)
}

// storeOptions are what the configuration says about the store.
func storeOptions(c *config.Config) bolt.Options {
	return bolt.Options{MaxSize: c.Store.MaxMB << 20, Journal: c.Beside(c.Store.Journal)}
}

// logJournal says what was found of the journal, and what was mended.
func (s *station) logJournal() {
	keeps, ok := s.store.(interface{ Journal() journal.State })
	if !ok || keeps.Journal().Path == "" {
		return
	}
	j := keeps.Journal()
	event := s.log.Info()
	if j.Torn > 0 || len(j.Gaps) > 0 {
		event = s.log.Warn()
	}
	event.Str("journal", j.Path).Int64("bytes", j.Bytes).Int64("torn_bytes", j.Torn).Int("unread_parts", len(j.Gaps)).
		Bool("written_anew", j.Anew).Strs("kept", j.Kept).Int("records_added", j.Added).Msg("journal holds what the store does")
}
