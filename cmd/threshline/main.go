// Command threshline is the gateway between basic phones and the paddy standard,
// and the tools around it.
//
// This file and its neighbours only wire: what is decided is decided in grading,
// advice and session.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/alecthomas/kong"
)

// description is the first thing that `threshline --help` says.
const description = "An SMS and USSD gateway between basic phones and the paddy standard."

// command is the whole command line: a field per subcommand.
type command struct {
	Demo      demoCmd          `cmd:"" help:"Run everything at once with an invented season, and a handset in the terminal."`
	Serve     serveCmd         `cmd:"" help:"Run the gateway of a programme."`
	Phone     phoneCmd         `cmd:"" help:"A handset in the terminal, over the same webhook as any carrier."`
	Grade     gradeCmd         `cmd:"" help:"Grade a file of readings."`
	Standards standardsCmd     `cmd:"" help:"List the standards, or print one."`
	Verify    verifyCmd        `cmd:"" help:"Verify a configuration, its standard and its wording."`
	Hear      hearCmd          `cmd:"" help:"Show how a channel understands a captured request."`
	Roster    rosterCmd        `cmd:"" help:"Bring people in, or write them out."`
	Access    accessCmd        `cmd:"" help:"Let in an administrator or a program, from the machine itself."`
	Export    exportCmd        `cmd:"" help:"Export filed checks from the running gateway: CSV, XLSX or JSON Lines."`
	Backup    backupCmd        `cmd:"" help:"Write a verified copy of the store."`
	Restore   restoreCmd       `cmd:"" help:"Put a store in place from a backup, the journal, or both."`
	Compact   compactCmd       `cmd:"" help:"Write over what was removed from the store."`
	Clock     clockCmd         `cmd:"" help:"Confirm a clock that the gateway does not believe."`
	Load      loadCmd          `cmd:"" help:"Measure how much load a gateway takes, compared with what the disk can do."`
	LoadPart  loadPartCmd      `cmd:"" hidden:"" help:"Serve a part of a measurement."`
	Unit      unitCmd          `cmd:"" help:"Print a unit file that runs the gateway as a hardened service."`
	Card      cardCmd          `cmd:"" help:"Write the pocket card for an agent's bag."`
	Version   kong.VersionFlag `help:"Print the version."`
}

// stdio is what a subcommand talks through, handed in so that it can be run
// without a process.
type stdio struct {
	in       io.Reader
	out, err io.Writer
}

// hinted is an error that says what to do about it.
type hinted interface{ Hint() string }

// fault is an error with a hint.
type fault struct {
	cause error
	hint  string
}

func (f *fault) Error() string { return f.cause.Error() }
func (f *fault) Unwrap() error { return f.cause }
func (f *fault) Hint() string  { return f.hint }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], stdio{os.Stdin, os.Stdout, os.Stderr})
	stop()
	os.Exit(code)
}

// run is the command without the process: 0 done, 1 a fault, 2 wrong usage.
func run(ctx context.Context, args []string, std stdio) (code int) {
	var cli command
	exited := -1
	parser, err := kong.New(&cli,
		kong.Name("threshline"), kong.Description(description), kong.UsageOnError(),
		kong.Writers(std.out, std.err), kong.Exit(func(c int) { exited = c }),
		kong.Vars{"version": version()}, kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(std),
	)
	if err != nil {
		return complain(std.err, err, 1)
	}
	parsed, err := parser.Parse(args)
	if exited >= 0 {
		return exited
	}
	if err != nil {
		return complain(std.err, &fault{err, "threshline --help lists the commands, threshline COMMAND --help its flags"}, 2)
	}
	if err := parsed.Run(); err != nil && !errors.Is(err, errSaid) {
		return complain(std.err, err, 1)
	} else if err != nil {
		return 1
	}
	return 0
}

// errSaid ends a command with exit code 1 after it has printed why.
var errSaid = errors.New("already said")

func complain(w io.Writer, err error, code int) int {
	fmt.Fprintf(w, "threshline: error: %v\n", err)
	var h hinted
	if errors.As(err, &h) && h.Hint() != "" {
		fmt.Fprintf(w, "threshline: hint: %s\n", h.Hint())
	}
	return code
}

// version is what the build recorded about itself: the module's version or the
// revision it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			v += " " + s.Value[:12]
		}
		if s.Key == "vcs.modified" && s.Value == "true" {
			v += " modified"
		}
	}
	return v + " " + info.GoVersion
}
