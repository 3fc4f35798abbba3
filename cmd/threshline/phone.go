package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"

	"golang.org/x/term"

	"threshline/gateway/carrier"
	"threshline/gateway/gsm"
	"threshline/session"
)

type phoneCmd struct {
	Config  string `help:"Configuration whose channel to use; the demonstration's when not given." type:"existingfile" placeholder:"FILE"`
	Channel string `help:"Channel to talk through; the configuration's first when not given." placeholder:"NAME"`
	At      string `help:"Address of the gateway." default:"http://127.0.0.1:8080" placeholder:"URL"`
	Number  string `help:"The handset's own number, from a range kept for fiction." default:"+33639980042"`
}

func (cmd *phoneCmd) Help() string { return handsetHelp }

// handsetHelp explains the handset; the lines with a colon are not keys of the
// phone but things that happen to it.
const handsetHelp = `Type what you would key in and press Enter. Lines that begin with a colon are
things that happen to the phone:
  :dial   dial the service code again     :drop   the network drops the session
  :again  the carrier delivers the last message once more
  :quit   put the handset away
With piped input every line is played as keys and each screen is printed. A
line after a session has ended dials anew first. On an SMS channel each line is
one message.`

func (cmd *phoneCmd) Run(ctx context.Context, std stdio) error {
	cfg, err := loadConfigOrDemo(cmd.Config)
	if err != nil {
		return err
	}
	channel, err := cfg.channel(cmd.Channel)
	if err != nil {
		return err
	}
	set := newHandset(strings.TrimSuffix(cmd.At, "/"), channel, cmd.Number)
	return playHandset(ctx, set, std)
}

func newHandset(base string, channel carrier.Config, number string) *handset {
	return &handset{
		base: base, channel: channel, number: number,
		client: &http.Client{Timeout: handsetTimeout}, newID: randomID,
	}
}

func randomID() string {
	b := make([]byte, 8)
	rand.Read(b) // never fails: crypto/rand ends the program instead
	return hex.EncodeToString(b)
}

// isTerminal tells whether a person sits at r.
func isTerminal(r io.Reader) bool {
	file, ok := r.(*os.File)
	return ok && term.IsTerminal(int(file.Fd()))
}

// playHandset lets a person or a script use the handset until the input ends.
func playHandset(ctx context.Context, set *handset, std stdio) error {
	talking := isTerminal(std.in)
	if talking {
		fmt.Fprintf(std.out, "Handset %s on channel %s. Type keys and Enter; :quit to stop, :dial, :drop, :again.\n", set.number, set.channel.Name)
	}
	ussd := set.channel.Kind == session.USSD
	if ussd {
		if err := set.act(ctx, ":dial", std.out); err != nil {
			return err
		}
	}
	lines := readLines(std.in)
	for {
		if talking {
			fmt.Fprint(std.out, "> ")
		}
		select {
		case <-ctx.Done():
			return nil
		case line, open := <-lines:
			if !open || line == ":quit" {
				return nil
			}
			if !talking {
				fmt.Fprintf(std.out, "> %s\n", line)
			}
			if err := set.act(ctx, line, std.out); err != nil {
				if !talking {
					return err
				}
				fmt.Fprintf(std.out, "  %v\n", err)
			}
		}
	}
}

// readLines hands over the input's lines, so that a signal can end the wait.
func readLines(r io.Reader) <-chan string {
	lines := make(chan string)
	go func() {
		defer close(lines)
		scanner := bufio.NewScanner(r)
		for scanner.Scan() {
			lines <- strings.TrimRight(scanner.Text(), "\r")
		}
	}()
	return lines
}

// act does one line of input and prints the screen that comes back.
func (h *handset) act(ctx context.Context, line string, out io.Writer) error {
	var a answer
	var err error
	ussd := h.channel.Kind == session.USSD
	switch {
	case line == ":dial" && ussd, line == "" && ussd && h.network == "":
		a, err = h.dial(ctx)
	case line == ":drop":
		h.drop()
		fmt.Fprintln(out, "  (the session dropped)")
		return nil
	case line == ":again":
		a, err = h.again(ctx)
	default:
		if ussd && h.network == "" {
			if a, err = h.dial(ctx); err != nil {
				return err
			}
			h.show(a, out)
		}
		a, err = h.key(ctx, line)
	}
	if err != nil {
		return err
	}
	h.show(a, out)
	return nil
}

func (h *handset) show(a answer, out io.Writer) {
	septets, plain := gsm.Count(a.Text)
	budget := h.channel.Budget
	if budget == 0 {
		budget = defaultBudget
	}
	if a.Text == "" {
		fmt.Fprintln(out, "  (no answer)")
		return
	}
	fmt.Fprint(out, drawScreen(a.Text, septets, budget, plain, a.More || h.channel.Kind == session.SMS))
}

// defaultBudget is a channel's budget when it sets none: one SMS segment, and
// a safe USSD screen. Source: [TS-23.038].
const defaultBudget = 160
