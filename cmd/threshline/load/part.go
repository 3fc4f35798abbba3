package load

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
)

// Usage is what a part under measurement has used since its start.
type Usage struct {
	CPU  float64 `json:"cpu"`  // seconds of processors
	Put  int64   `json:"put"`  // bytes of keys and values
	Disk int64   `json:"disk"` // bytes of pages
	Own  int64   `json:"own"`  // most memory of its own since it was last asked, bytes
	// Trips to a database that exchanges made; 0 without one.
	Trips int64 `json:"trips"`
}

// Serve is the side of the part: it says where it listens, then what it has used,
// a line for each line of in, until in ends.
func Serve(in io.Reader, out io.Writer, base string, used func() Usage) error {
	if _, err := fmt.Fprintln(out, base); err != nil {
		return err
	}
	lines, answers := bufio.NewScanner(in), json.NewEncoder(out)
	for lines.Scan() {
		if err := answers.Encode(used()); err != nil {
			return err
		}
	}
	return lines.Err()
}

// child is a part in a process of its own, so that what it uses is told apart
// from what the phones do.
type child struct {
	cmd  *exec.Cmd
	ask  io.WriteCloser
	said *bufio.Scanner
	base string
}

func start(ctx context.Context, command ...string) (*child, error) {
	c := &child{cmd: exec.CommandContext(ctx, command[0], command[1:]...)}
	c.cmd.Stderr = os.Stderr
	out, err := c.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if c.ask, err = c.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	if err := c.cmd.Start(); err != nil {
		return nil, err
	}
	c.said = bufio.NewScanner(out)
	if !c.said.Scan() {
		return nil, errors.Join(errors.New("load: a part under measurement did not start"), c.stop())
	}
	c.base = c.said.Text()
	return c, nil
}

// used asks the part what it has used.
func (c *child) used() (u Usage, err error) {
	if c == nil {
		return u, nil // a gateway elsewhere
	}
	if _, err = io.WriteString(c.ask, "\n"); err != nil {
		return u, fmt.Errorf("load: %w", err)
	}
	if !c.said.Scan() {
		return u, errors.New("load: a part under measurement ended")
	}
	return u, json.Unmarshal(c.said.Bytes(), &u)
}

func (c *child) stop() error {
	if c == nil {
		return nil
	}
	return errors.Join(c.ask.Close(), c.cmd.Wait())
}
