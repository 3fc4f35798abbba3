package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"github.com/gorilla/mux"
	"github.com/rs/zerolog"

	"threshline/gateway"
	"threshline/session/store/bolt"
)

type loadCmd struct {
	Phones []int         `help:"How many phones talk at once." default:"1,32,128,512"`
	For    time.Duration `help:"How long each measurement takes." default:"5s"`
	At     string        `help:"Address of a running gateway with open channels, such as a demonstration's; one of its own when not given." placeholder:"URL"`
	Dir    string        `help:"Folder for the stores of its own: choose the disk to measure. A new one that is removed when not given." type:"existingdir" placeholder:"DIR"`
}

// Help is the longer text of `threshline load --help`.
func (*loadCmd) Help() string {
	return `Measures a gateway as carriers would load it: every phone is in a dialogue, sends
its next entry when it has read the answer to the one before, and files check after
check. First as fast as it goes, then at half that speed, where each time counts
from when the message was due. Beside a gateway of its own it measures the ceiling:
the same requests through a bare put of as many bytes, synced to the same disk.
Never aim it at a gateway in use: what it files stays filed.`
}

func (cmd *loadCmd) Run(ctx context.Context, std stdio) error {
	if len(cmd.Phones) == 0 || cmd.For <= 0 {
		return errors.New("load: want phones and a time")
	}
	dir, err := os.MkdirTemp(cmd.Dir, "threshline-load-")
	if err != nil {
		return fmt.Errorf("load: %w", err)
	}
	defer os.RemoveAll(dir)
	defer gateway.Ballast()() // as serve has it
	fmt.Fprintln(std.out, "phones  exchanges/s    p50      p99   at half load: p50      p99   checks  written  allocs  ceiling/s  ratio")
	for _, n := range cmd.Phones {
		if n < 1 || n > mostPhones {
			return fmt.Errorf("load: %d phones: want 1 to %d", n, mostPhones)
		}
		if err := cmd.measure(ctx, std.out, filepath.Join(dir, fmt.Sprint(n)), n); err != nil {
			return err
		}
	}
	return nil
}

// measure prints the line of one number of phones.
func (cmd *loadCmd) measure(ctx context.Context, out io.Writer, path string, n int) error {
	if cmd.At != "" {
		m, err := measureAt(ctx, cmd.At, n, cmd.For, nil)
		if err == nil {
			fmt.Fprintf(out, "%6d  %s\n", n, m)
		}
		return err
	}
	whole, err := cmd.own(ctx, path+".db", n)
	if err != nil {
		return err
	}
	bare, err := cmd.ceiling(ctx, path+".bare.db", n)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%6d  %s  %9.0f  %5.2f\n", n, whole, bare.rate, whole.rate/bare.rate)
	return nil
}

// own measures a whole gateway of the demonstration's programme.
func (cmd *loadCmd) own(ctx context.Context, path string, n int) (m measured, err error) {
	cfg, err := loadConfigOrDemo("")
	if err != nil {
		return m, err
	}
	cfg.Programme.Languages = []string{"en"}
	cfg.Limits = limitsConfig{PhoneBurst: 1 << 30, PhoneEvery: 1, PhonePerDay: 1 << 30}
	s, err := openStation(cfg, path, zerolog.Nop())
	if err != nil {
		return m, err
	}
	listener, err := listen("127.0.0.1:0")
	if err != nil {
		return m, errors.Join(err, s.close())
	}
	ctx, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- s.run(ctx, listener) }()
	m, err = measureAt(ctx, "http://"+listener.Addr().String(), n, cmd.For, s.store.Written)
	stop()
	return m, errors.Join(err, <-done, s.close())
}

// putBytes is about what an exchange of a check puts: the dialogue with the last
// answers behind it, and now and then a check or answers that move out.
// screenBytes is about a screen.
const (
	putBytes    = 1330
	screenBytes = 110
)

// ceiling measures what is left when the dialogue is taken away: the router,
// the body, and one put through the same grouped and synced commit.
func (cmd *loadCmd) ceiling(ctx context.Context, path string, n int) (m measured, err error) {
	store, err := bolt.Open(path, bolt.Options{})
	if err != nil {
		return m, err
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return m, errors.Join(err, store.Close())
	}
	server := gateway.Server("", bareRouter(store))
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	m, err = measureAt(ctx, "http://"+listener.Addr().String(), n, cmd.For, store.Written)
	closed := server.Close()
	<-done // says only that the server was closed
	return m, errors.Join(err, closed, store.Close())
}

func bareRouter(store *bolt.Store) http.Handler {
	value, screen := make([]byte, putBytes), make([]byte, screenBytes)
	router := mux.NewRouter()
	router.HandleFunc("/in/{channel}", func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, 64<<10))
		if err == nil {
			err = store.Bare(r.Context(), body, value)
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
			return
		}
		w.Header().Set(moreHeader, "true")
		_, _ = w.Write(screen)
	}).Methods(http.MethodPost)
	return router
}
