package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"threshline/gateway/carrier"
	"threshline/session"
	"threshline/session/boltstore"
)

type rosterCmd struct {
	Import rosterImportCmd `cmd:"" help:"Bring people in from a CSV file: all of them or none."`
	Export rosterExportCmd `cmd:"" help:"Write the people as a CSV file, with their numbers."`
}

func (*rosterCmd) Help() string {
	return `A roster is CSV with a heading; the columns, in any order:
  role      grower, agent, buyer or coordinator
  number    such as +33639981234; a grower of an agent may have none
  name, district, village, language
  agent     a grower's agent, by the agent's number
  short     the agent's number for the grower, 1 to 99; the next free one when empty
Only role and name must be there. An empty field leaves what is known as it is.
The gateway must be stopped: the store has one owner.`
}

type rosterImportCmd struct {
	Config string `help:"The programme's configuration." required:"" type:"existingfile" placeholder:"FILE"`
	DryRun bool   `help:"Say what would change, and change nothing."`
	File   string `arg:"" help:"The roster; - is standard input."`
}

func (cmd *rosterImportCmd) Run(ctx context.Context, std stdio) error {
	cfg, store, err := openStore(cmd.Config)
	if err != nil {
		return err
	}
	defer store.Close()
	in, tidy, err := openInput(cmd.File, std.in)
	if err != nil {
		return err
	}
	defer tidy()
	rows, err := session.ReadRoster(in, cfg.rosterRules())
	if err != nil {
		return &fault{err, "nothing was changed; mend the lines and import the file again"}
	}
	var change session.RosterChange
	turn := session.RosterTurn(rows, time.Now(), "roster import", randomBits, &change)
	if cmd.DryRun {
		err = store.Read(ctx, func(v session.View) error { _, err := turn(v); return err })
	} else {
		_, err = store.Exchange(ctx, session.Key{}, turn)
	}
	if err != nil {
		return &fault{err, "nothing was changed; mend the lines and import the file again"}
	}
	would := ""
	if cmd.DryRun {
		would = "dry run, nothing was changed: "
	}
	fmt.Fprintf(std.out, "%s%d added, %d changed, %d as they were\n", would, change.Added, change.Changed, change.Same)
	return nil
}

type rosterExportCmd struct {
	Config string `help:"The programme's configuration." required:"" type:"existingfile" placeholder:"FILE"`
}

func (cmd *rosterExportCmd) Run(ctx context.Context, std stdio) error {
	_, store, err := openStore(cmd.Config)
	if err != nil {
		return err
	}
	defer store.Close()
	people, err := everybody(ctx, store)
	if err != nil {
		return err
	}
	return session.WriteRoster(std.out, people)
}

// everybody lists all people, page by page.
func everybody(ctx context.Context, store *boltstore.Store) (people []session.Person, err error) {
	const page = 500
	last := session.PersonID("")
	for {
		some, err := store.People(ctx, last, page)
		if err != nil {
			return nil, err
		}
		people = append(people, some...)
		if len(some) < page {
			return people, nil
		}
		last = some[len(some)-1].ID
	}
}

// openStore opens the store of a configuration, for work while the gateway is
// stopped.
func openStore(path string) (*config, *boltstore.Store, error) {
	cfg, err := loadConfig(path)
	if err != nil {
		return nil, nil, err
	}
	store, err := boltstore.Open(cfg.storePath(), cfg.storeOptions())
	return cfg, store, err
}

// storePath is where the store lies: beside the configuration unless the path
// is absolute.
func (c *config) storePath() string {
	if filepath.IsAbs(c.Store.Path) {
		return c.Store.Path
	}
	return filepath.Join(c.dir, c.Store.Path)
}

func (c *config) rosterRules() session.RosterRules {
	rules := session.RosterRules{Districts: c.Programme.Districts, Number: func(raw string) (session.Phone, error) {
		return carrier.ParseNumber(raw, c.Programme.Region)
	}}
	for _, lang := range c.Programme.Languages {
		rules.Languages = append(rules.Languages, session.Language(lang))
	}
	return rules
}

func openInput(name string, stdin io.Reader) (io.Reader, func(), error) {
	if name == "-" {
		return stdin, func() {}, nil
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, nil, err
	}
	return file, func() { file.Close() }, nil
}

// randomBits are fresh bits for ids.
func randomBits() uint64 {
	var b [8]byte
	rand.Read(b[:]) // never fails: crypto/rand ends the program instead
	return binary.BigEndian.Uint64(b[:])
}
