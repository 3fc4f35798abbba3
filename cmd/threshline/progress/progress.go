// Package progress shows on a terminal where long work is: how much is done, how
// fast, and how long the rest takes.
//
// Elsewhere, in a pipe or a log, it shows nothing.
package progress

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// Terminal reports whether a person looks at, or sits at, a stream.
func Terminal(stream any) bool {
	file, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(file.Fd()))
}

// Bar is one piece of work. A nil one shows nothing.
type Bar struct{ bar *progressbar.ProgressBar }

// every is how often a bar is drawn anew.
const every = 100 * time.Millisecond

// Bytes shows work on so many bytes; a total under 0 is not known.
func Bytes(out io.Writer, what string, total int64) *Bar {
	return show(out, what, total, progressbar.OptionShowBytes(true))
}

// Steps shows work on so many things, each of a kind such as "checks".
func Steps(out io.Writer, what, kind string, total int64) *Bar {
	return show(out, what, total, progressbar.OptionShowIts(), progressbar.OptionSetItsString(kind))
}

func show(out io.Writer, what string, total int64, more ...progressbar.Option) *Bar {
	if !Terminal(out) {
		return nil
	}
	return &Bar{progressbar.NewOptions64(total, append(more,
		progressbar.OptionSetWriter(out), progressbar.OptionSetDescription(what), progressbar.OptionShowCount(),
		progressbar.OptionShowTotalBytes(true), progressbar.OptionSetPredictTime(true), progressbar.OptionSetElapsedTime(false),
		progressbar.OptionSetWidth(20), progressbar.OptionThrottle(every), progressbar.OptionClearOnFinish())...)}
}

// Add says that so much more is done. What goes over the total is not shown.
func (b *Bar) Add(n int) {
	if b != nil {
		_ = b.bar.Add(n)
	}
}

// At says that so much of so much is done, where the total comes with the work.
func (b *Bar) At(done, of int) {
	if b != nil {
		b.bar.ChangeMax(of)
		_ = b.bar.Set(done)
	}
}

// End takes the bar off the screen.
func (b *Bar) End() {
	if b != nil {
		_ = b.bar.Exit()
		_ = b.bar.Clear()
	}
}

// Above is a writer whose text takes the place of the bar, which comes back below
// with the next that is done.
func (b *Bar) Above(out io.Writer) io.Writer {
	if b == nil {
		return out
	}
	return above{b, out}
}

type above struct {
	bar *Bar
	out io.Writer
}

func (a above) Write(p []byte) (int, error) {
	_ = a.bar.bar.Clear()
	return a.out.Write(p)
}

// Reader counts what is read of r; r itself where nothing is shown.
func (b *Bar) Reader(r io.Reader) io.Reader {
	if b == nil {
		return r
	}
	return io.TeeReader(r, counter{b})
}

// counter counts what is written to it.
type counter struct{ bar *Bar }

func (c counter) Write(p []byte) (int, error) {
	c.bar.Add(len(p))
	return len(p), nil
}

// File is a file of which what is read at places counts.
type File struct {
	*os.File
	Bar *Bar
}

// ReadAt reads and counts.
func (f File) ReadAt(p []byte, at int64) (n int, err error) {
	n, err = f.File.ReadAt(p, at)
	f.Bar.Add(n)
	return n, err
}
