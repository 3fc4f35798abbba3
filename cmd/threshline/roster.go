package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/session"
	"threshline/session/programme"
	"threshline/session/store/bolt"
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

It goes to and comes from the running gateway, over its interface for programs.
An administrator makes the token at the desk, under "People and tokens"; it needs
the scopes "roster" and "identified" and is for all districts. Before the first
start, or while the gateway is stopped, --stopped names the configuration whose
store is opened instead.`
}

// rosterWay is how a roster reaches the store: through the gateway that has it
// open or, if none has, directly.
type rosterWay struct {
	At        string `help:"Address of the running gateway." default:"http://127.0.0.1:8080" placeholder:"URL"`
	TokenFile string `help:"File that holds the token; the variable THRESHLINE_TOKEN is read when not given." type:"path" placeholder:"FILE"`
	Stopped   string `help:"The configuration of a gateway that does not run: opens its store." type:"existingfile" placeholder:"FILE"`
}

// ask asks the running gateway for the roster, or hands one in.
func (w *rosterWay) ask(ctx context.Context, method, query string, body io.Reader) (io.ReadCloser, error) {
	token, err := readToken(w.TokenFile)
	if err != nil {
		return nil, err
	}
	return askAdmin(ctx, method, w.At, "/admin/v1/roster"+query, token, body)
}

type rosterImportCmd struct {
	rosterWay
	DryRun bool   `help:"Say what would change, and change nothing."`
	File   string `arg:"" help:"The roster; - is standard input."`
}

func (cmd *rosterImportCmd) Run(ctx context.Context, std stdio) error {
	in, tidy, err := openInput(cmd.File, std.in)
	if err != nil {
		return err
	}
	defer tidy()
	if file, ok := in.(*os.File); ok {
		bar := std.reading("roster", file)
		defer bar.End()
		in = bar.Reader(in)
	}
	var change programme.RosterChange
	if cmd.Stopped != "" {
		change, err = cmd.bring(ctx, in)
	} else {
		change, err = cmd.send(ctx, in)
	}
	if err != nil {
		return err
	}
	would := ""
	if cmd.DryRun {
		would = "dry run, nothing was changed: "
	}
	fmt.Fprintf(std.out, "%s%d added, %d changed, %d as they were\n", would, change.Added, change.Changed, change.Same)
	return nil
}

// correctRoster says what to do about a roster that has faults.
const correctRoster = "nothing was changed; correct the lines and import the file again"

// bring takes the roster into a store that nobody has open.
func (cmd *rosterImportCmd) bring(ctx context.Context, in io.Reader) (change programme.RosterChange, err error) {
	cfg, store, err := openStore(ctx, cmd.Stopped)
	if err != nil {
		return change, err
	}
	defer store.Close()
	rules := cfg.RosterRules()
	kept, err := keptMeters(ctx, store)
	if err != nil {
		return change, err
	}
	for _, m := range kept {
		rules.Meters = append(rules.Meters, m.Name)
	}
	if change, err = bringRoster(ctx, store, rules, in, "roster import", cmd.DryRun); err != nil {
		return change, &fault{err, correctRoster}
	}
	return change, nil
}

// send hands the roster to the running gateway.
func (cmd *rosterImportCmd) send(ctx context.Context, in io.Reader) (change programme.RosterChange, err error) {
	query := ""
	if cmd.DryRun {
		query = "?dry_run=yes"
	}
	answer, err := cmd.ask(ctx, http.MethodPost, query, in)
	if err != nil {
		return change, err
	}
	defer answer.Close()
	var said struct{ Added, Changed, Same int }
	if err := json.NewDecoder(answer).Decode(&said); err != nil {
		return change, &fault{fmt.Errorf("roster: the answer of the gateway broke off: %w", err), "import the file again: who is in already is not added twice"}
	}
	return programme.RosterChange{Added: said.Added, Changed: said.Changed, Same: said.Same}, nil
}

type rosterExportCmd struct {
	rosterWay
}

func (cmd *rosterExportCmd) Run(ctx context.Context, std stdio) error {
	if cmd.Stopped == "" {
		body, err := cmd.ask(ctx, http.MethodGet, "", nil)
		if err != nil {
			return err
		}
		defer body.Close()
		_, err = io.Copy(std.out, body)
		return broken(err)
	}
	_, store, err := openStore(ctx, cmd.Stopped)
	if err != nil {
		return err
	}
	defer store.Close()
	people, err := everybody(ctx, store)
	if err != nil {
		return err
	}
	return programme.WriteRoster(std.out, people)
}

// bringRoster takes people in from a roster in the name of who, all or none;
// dry changes nothing.
func bringRoster(
	ctx context.Context, store engine, rules programme.RosterRules, in io.Reader, who string, dry bool,
) (change programme.RosterChange, err error) {
	rows, err := programme.ReadRoster(in, rules)
	if err != nil {
		return change, err
	}
	turn := programme.RosterTurn(rows, time.Now(), who, randomBits, &change)
	if dry {
		err = store.Read(ctx, func(v session.View) error { _, err := turn(v); return err })
	} else {
		_, err = store.Exchange(ctx, session.Key{}, turn)
	}
	return change, err
}

// everybody lists all people, page by page.
func everybody(ctx context.Context, store engine) (people []session.Person, err error) {
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
func openStore(ctx context.Context, path string) (*config.Config, engine, error) {
	cfg, err := config.Load(path)
	if err != nil {
		return nil, nil, err
	}
	store, err := openEngine(cfg, ctx, cfg.StorePath(), nil)
	if errors.Is(err, bolt.ErrLocked) {
		return nil, nil, &fault{err, "the gateway is running: leave --stopped out and give --token-file, or stop the gateway"}
	}
	return cfg, store, err
}

// storePath is where the store lies: beside the configuration unless the path
// is absolute.
// rosterRules are those of the configuration, with the meters that the desk keeps.
func (s *station) rosterRules() programme.RosterRules {
	rules := s.cfg.RosterRules()
	rules.Meters = s.programme.MeterNames()
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

// people reads and writes the programme's people for the desk, by the same
// rules as the command.
type people struct{ s *station }

// Bring takes people in from a roster.
func (p people) Bring(ctx context.Context, in io.Reader, who string, dry bool) (programme.RosterChange, error) {
	return bringRoster(ctx, p.s.store, p.s.rosterRules(), in, who, dry)
}

// Write writes everybody as a roster.
func (p people) Write(ctx context.Context, out io.Writer) error {
	all, err := everybody(ctx, p.s.store)
	if err != nil {
		return err
	}
	return programme.WriteRoster(out, all)
}
