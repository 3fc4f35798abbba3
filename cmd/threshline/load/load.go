// Package load measures how much a gateway takes, as phones would load it, beside
// the ceiling of the disk.
package load

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
)

// Run is what is measured, and how.
type Run struct {
	Phones  []int          // how many talk at once, run after run
	For     time.Duration  // how long each measurement takes
	At      string         // address of a running gateway; "" measures one of its own
	Dir     string         // where stores of its own lie; "" is the system's folder
	Channel carrier.Config // that the phones talk over
	// Open starts a gateway of its own over a new store at path.
	Open func(ctx context.Context, path string) (Gateway, error)
}

// Gateway is one under measurement.
type Gateway struct {
	Base    string       // its address
	Written func() int64 // bytes that its store has written so far
	Stop    func() error
}

// Print measures, and prints a line for each number of phones.
func (r *Run) Print(ctx context.Context, out io.Writer) error {
	if len(r.Phones) == 0 || r.For <= 0 {
		return errors.New("load: want phones and a time")
	}
	dir, err := os.MkdirTemp(r.Dir, "threshline-load-")
	if err != nil {
		return fmt.Errorf("load: %w", err)
	}
	defer os.RemoveAll(dir)
	defer gateway.Ballast()() // as serve has it
	fmt.Fprintln(out, "phones  exchanges/s    p50      p99   at half load: p50      p99   checks  written  allocs  ceiling/s  ratio")
	for _, n := range r.Phones {
		if n < 1 || n > mostPhones {
			return fmt.Errorf("load: %d phones: want 1 to %d", n, mostPhones)
		}
		if err := r.measure(ctx, out, filepath.Join(dir, fmt.Sprint(n)), n); err != nil {
			return err
		}
	}
	return nil
}

// measure prints the line of one number of phones.
func (r *Run) measure(ctx context.Context, out io.Writer, path string, n int) error {
	if r.At != "" {
		m, err := measureAt(ctx, r.At, r.Channel, n, r.For, nil)
		if err == nil {
			fmt.Fprintf(out, "%6d  %s\n", n, m)
		}
		return err
	}
	whole, err := r.own(ctx, path+".db", n)
	if err != nil {
		return err
	}
	bare, err := r.ceiling(ctx, path+".bare.db", n)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%6d  %s  %9.0f  %5.2f\n", n, whole, bare.rate, whole.rate/bare.rate)
	return nil
}

// own measures a whole gateway.
func (r *Run) own(ctx context.Context, path string, n int) (m measured, err error) {
	g, err := r.Open(ctx, path)
	if err != nil {
		return m, err
	}
	m, err = measureAt(ctx, g.Base, r.Channel, n, r.For, g.Written)
	return m, errors.Join(err, g.Stop())
}
