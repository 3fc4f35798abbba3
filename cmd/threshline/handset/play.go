package handset

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"strings"

	"threshline/gateway/carrier"
	"threshline/gateway/gsm"
	"threshline/session"
)

// Help explains the handset; the lines with a colon are not keys of the
// phone but things that happen to it.
const Help = `Type what you would key in and press Enter. Lines that begin with a colon are
things that happen to the phone:
  :dial   dial the service code again     :drop   the network drops the session
  :again  the carrier delivers the last message once more
  :quit   put the handset away
With piped input every line is played as keys and each screen is printed. A
line after a session has ended dials anew first. On an SMS channel each line is
one message.`

// Play lets a person or a script use the phone until the input ends. Talking is
// to a person: the phone then asks, and a fault does not end it.
func (p *Phone) Play(ctx context.Context, in io.Reader, out io.Writer, talking bool) error {
	if talking {
		fmt.Fprintf(out, "Handset %s on channel %s. Type keys and Enter; :quit to stop, :dial, :drop, :again.\n", p.Number, p.channel.Name)
	}
	ussd := p.channel.Kind == session.USSD
	if ussd {
		if err := p.act(ctx, ":dial", out); err != nil {
			return err
		}
	}
	lines := readLines(in)
	for {
		if talking {
			fmt.Fprint(out, "> ")
		}
		select {
		case <-ctx.Done():
			return nil
		case line, open := <-lines:
			if !open || line == ":quit" {
				return nil
			}
			if !talking {
				fmt.Fprintf(out, "> %s\n", line)
			}
			if err := p.act(ctx, line, out); err != nil {
				if !talking {
					return err
				}
				fmt.Fprintf(out, "  %v\n", err)
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
func (p *Phone) act(ctx context.Context, line string, out io.Writer) error {
	var a Answer
	var err error
	ussd := p.channel.Kind == session.USSD
	switch {
	case line == ":dial" && ussd, line == "" && ussd && p.network == "":
		a, err = p.Dial(ctx)
	case line == ":drop":
		p.Drop()
		fmt.Fprintln(out, "  (the session dropped)")
		return nil
	case line == ":again":
		a, err = p.again(ctx)
	default:
		if ussd && p.network == "" {
			if a, err = p.Dial(ctx); err != nil {
				return err
			}
			p.show(a, out)
		}
		a, err = p.Key(ctx, line)
	}
	if err != nil {
		return err
	}
	p.show(a, out)
	return nil
}

func (p *Phone) show(a Answer, out io.Writer) {
	septets, plain := gsm.Count(a.Text)
	budget := cmp.Or(p.channel.Budget, carrier.DefaultBudget)
	if a.Text == "" {
		fmt.Fprintln(out, "  (no answer)")
		return
	}
	fmt.Fprint(out, drawScreen(a.Text, septets, budget, plain, a.More || p.channel.Kind == session.SMS))
}
