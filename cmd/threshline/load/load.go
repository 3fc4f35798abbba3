// Package load measures how much load a gateway takes from phones, compared with what
// the disk can do.
package load

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"threshline/gateway/carrier"
)

// Run is what is measured, and how.
type Run struct {
	Phones  []int          // how many talk at once, run after run
	For     time.Duration  // how long each part is measured
	At      string         // address of a running gateway; "" measures parts of its own
	Dir     string         // where stores of its own lie; "" is the system's folder
	Season  int            // checks of a full store, measured beside a fresh one; 0 leaves that away
	JSON    bool           // an object for each line
	Channel carrier.Config // that the phones talk over
	// Program is the command that serves a part; "whole" or "bare", the store and
	// how many bytes a bare put has follow.
	Program []string
	// Export has all checks of the full store exported besides, alone and beside phones.
	Export bool
	// Fill makes a store of so many checks, and a token that may export them.
	Fill func(ctx context.Context, path string, checks int) (token string, err error)
	// Step is told that a step more of Steps is done; nil is nobody.
	Step func(one int)
}

const (
	// turns is how often the parts take turns, so that all see the same moods of
	// disk and neighbours.
	turns = 5
	// smallPut is about what any message leaves behind at least.
	smallPut = 300
	// keyBytes is about a message's body, which is the key of a bare put.
	keyBytes = 70
)

// Print measures, and prints a line for each part and number of phones.
func (r *Run) Print(ctx context.Context, out io.Writer) (err error) {
	if len(r.Phones) == 0 || r.For <= 0 || r.Season < 0 || r.Export && (r.Season == 0 || r.At != "") {
		return errors.New("load: want phones, a time, and no season or one of some checks; an export needs a season")
	}
	for _, n := range r.Phones {
		if n < 1 || n > mostPhones {
			return fmt.Errorf("load: %d phones: want 1 to %d", n, mostPhones)
		}
	}
	dir, err := os.MkdirTemp(r.Dir, "threshline-load-")
	if err != nil {
		return fmt.Errorf("load: %w", err)
	}
	defer os.RemoveAll(dir)
	var full *child
	var token string
	if r.Season > 0 && r.At == "" {
		path := filepath.Join(dir, "full.db")
		if token, err = r.Fill(ctx, path, r.Season); err != nil {
			return fmt.Errorf("load: fill: %w", err)
		}
		if full, err = r.serve(ctx, "whole", path, 0); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, full.stop()) }()
	}
	if !r.JSON {
		fmt.Fprintln(out, heading)
	}
	for _, n := range r.Phones {
		list, err := r.beside(ctx, filepath.Join(dir, strconv.Itoa(n)), n, full, token)
		if err != nil {
			return err
		}
		if err := r.tell(out, list); err != nil {
			return err
		}
	}
	return nil
}

func (r *Run) serve(ctx context.Context, kind, path string, bytes int) (*child, error) {
	return start(ctx, append(r.Program[:len(r.Program):len(r.Program)], kind, path, strconv.Itoa(bytes))...)
}

// beside measures all parts with n phones: a fresh gateway, a full one when there
// is one, and two bare routers, in turns.
func (r *Run) beside(ctx context.Context, path string, n int, full *child, token string) (list []Measured, err error) {
	var parts []*part
	defer func() {
		for _, p := range parts {
			p.crew.phones[0].Client.CloseIdleConnections()
			if p.child != full {
				err = errors.Join(err, p.child.stop())
			}
		}
	}()
	add := func(what string, c *child, base string) (put int, err error) {
		p := newPart(what, c, base, r.Channel, n)
		parts = append(parts, p)
		return p.warm(ctx)
	}
	if r.At != "" {
		if _, err := add("there", nil, r.At); err != nil {
			return nil, err
		}
	} else if err := r.addOwn(ctx, path, full, add); err != nil {
		return nil, err
	}
	for range turns {
		for _, p := range parts {
			if err := p.turn(ctx, r.For/turns); err != nil {
				return nil, err
			}
			r.step()
		}
	}
	for _, p := range parts {
		if err := p.atHalf(ctx, r.For/2); err != nil {
			return nil, err
		}
		r.step()
		m := p.measured()
		if r.Export && full != nil && p.child == full {
			if m.Export, err = p.exporting(ctx, token); err != nil {
				return nil, err
			}
		}
		list = append(list, m)
	}
	if r.At == "" {
		compare(list)
	}
	return list, nil
}

// Steps is how many steps the measurements have.
func (r *Run) Steps() int {
	parts := 3
	switch {
	case r.At != "":
		parts = 1
	case r.Season > 0:
		parts = 4
	}
	return len(r.Phones) * parts * (turns + 1)
}

func (r *Run) step() {
	if r.Step != nil {
		r.Step(1)
	}
}

// addOwn starts the parts of its own. The second bare router puts as many bytes
// as an exchange of the fresh gateway did.
func (r *Run) addOwn(ctx context.Context, path string, full *child, add func(string, *child, string) (int, error)) error {
	fresh, err := r.serve(ctx, "whole", path+".db", 0)
	if err != nil {
		return err
	}
	put, err := add("fresh", fresh, fresh.base)
	if err == nil && full != nil {
		_, err = add("full", full, full.base)
	}
	for _, bytes := range []int{smallPut, max(1, put-keyBytes)} {
		if err != nil {
			break
		}
		var c *child
		if c, err = r.serve(ctx, "bare", fmt.Sprintf("%s.bare%d.db", path, bytes), bytes); err == nil {
			_, err = add(fmt.Sprintf("bare, %d B", bytes), c, c.base)
		}
	}
	return err
}

// compare sets the shares: the bare routers come last, the small put first.
func compare(list []Measured) {
	small, equal := list[len(list)-2].Rate, list[len(list)-1].Rate
	for i := range list[:len(list)-2] {
		list[i].OfSmall, list[i].OfEqual = list[i].Rate/small, list[i].Rate/equal
		if i > 0 {
			list[i].OfFresh = list[i].Rate / list[0].Rate
		}
	}
}

const heading = "phones  part           exchanges/s  of bare  of equal  of fresh      p50      p99   at half load: p50      p99   CPU us    put B   disk B   own MiB   checks"

// tell prints what was measured with one number of phones.
func (r *Run) tell(out io.Writer, list []Measured) error {
	if r.JSON {
		lines := json.NewEncoder(out)
		for _, m := range list {
			if err := lines.Encode(m); err != nil {
				return err
			}
		}
		return nil
	}
	share := func(x float64) string {
		if x == 0 {
			return "-"
		}
		return strconv.FormatFloat(x, 'f', 2, 64)
	}
	for _, m := range list {
		_, err := fmt.Fprintf(out, "%6d  %-13s  %11.0f  %7s  %8s  %8s  %5.1fms  %5.1fms  %16.1fms  %5.1fms  %7.0f  %7.0f  %7.0f  %8.0f  %7d\n",
			m.Phones, m.What, m.Rate, share(m.OfSmall), share(m.OfEqual), share(m.OfFresh), m.P50, m.P99, m.Half50, m.Half99,
			m.CPU, m.Put, m.Disk, m.Own, m.Checks)
		if e := m.Export; err == nil && e != nil {
			_, err = fmt.Fprintf(out, "%6d  %-13s  %11.0f  all checks as CSV, %.0f MB: %.1f s beside these phones, p50 %.1fms, p99 %.1fms; %.1f s alone\n",
				m.Phones, "full, export", e.Rate, float64(e.Bytes)/1e6, e.Beside, e.P50, e.P99, e.Alone)
		}
		if err != nil {
			return err
		}
	}
	return nil
}
