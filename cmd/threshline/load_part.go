package main

import (
	"context"
	"errors"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime/metrics"
	"runtime/pprof"
	"sync/atomic"
	"time"

	"github.com/rs/zerolog"

	"threshline/cmd/threshline/load"
	"threshline/gateway"
	"threshline/gateway/bare"
	"threshline/session/store/bolt"
	"threshline/session/store/postgres"
)

// loadPartCmd serves one part under measurement, for load alone.
type loadPartCmd struct {
	Kind  string `arg:"" enum:"whole,bare"`
	Store string `arg:""`
	Bytes int    `arg:""`
	URL   string `help:"The database, instead of a file."`
	// Profiles is the folder for a profile of where this part's processor time goes.
	Profiles string
}

// underLoad is a store that says what it does.
type underLoad interface {
	Put() int64     // bytes of keys and values
	Written() int64 // bytes of what reaches the disk
	Close() error
}

func (cmd *loadPartCmd) Run(ctx context.Context, std stdio) error {
	if cmd.Profiles != "" {
		file, err := os.Create(filepath.Join(cmd.Profiles, filepath.Base(cmd.Store)+".pprof"))
		if err != nil {
			return err
		}
		defer file.Close()
		if err := pprof.StartCPUProfile(file); err != nil {
			return err
		}
		defer pprof.StopCPUProfile()
	}
	defer gateway.Ballast()() // as serve has it
	memory := newMemory(zerolog.Nop())
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var own atomic.Int64 // most since it was asked
	go watchOwn(ctx, &own)
	store, served, err := cmd.serve(ctx, listener, memory)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	err = load.Serve(std.in, std.out, "http://"+listener.Addr().String(), func() load.Usage {
		used := load.Usage{CPU: processorTime(), Put: store.Put(), Disk: store.Written(), Own: own.Swap(ownMemory())}
		if d, ok := store.(*postgres.Store); ok {
			used.Trips = d.Rounds()
		}
		return used
	})
	stop()
	return errors.Join(err, <-served, store.Close(), cmd.clean(context.WithoutCancel(ctx)))
}

// clean takes the schema of a database away that the part had for itself.
func (cmd *loadPartCmd) clean(ctx context.Context) error {
	if cmd.URL == "" {
		return nil
	}
	cfg, err := configForLoad(cmd.URL, cmd.Store)
	if err != nil {
		return err
	}
	url, err := cfg.DatabaseURL()
	if err != nil {
		return err
	}
	return postgres.Drop(ctx, url, databaseOptions(cfg))
}

// serve starts the part on the listener.
func (cmd *loadPartCmd) serve(ctx context.Context, listener net.Listener, memory *memory) (underLoad, <-chan error, error) {
	served := make(chan error, 1)
	if cmd.Kind == "whole" {
		s, err := openForLoad(ctx, cmd.URL, cmd.Store)
		if err != nil {
			return nil, nil, err
		}
		s.memory = memory
		go func() { served <- s.run(ctx, listener) }()
		if d, shared := s.store.(database); shared {
			return d.Store, served, nil
		}
		return s.store.(*bolt.Store), served, nil
	}
	go func() { // as the station does
		for collect := time.Tick(memoryEvery); ctx.Err() == nil; {
			select {
			case <-ctx.Done():
			case <-collect:
				_, _ = memory.round(ctx)
			}
		}
	}()
	store, put, err := cmd.bareStore(ctx)
	if err != nil {
		return nil, nil, err
	}
	server := gateway.Server("", bare.Router(put, cmd.Bytes), zerolog.Nop())
	go func() {
		err := server.Serve(listener)
		if errors.Is(err, http.ErrServerClosed) {
			err = nil
		}
		served <- err
	}()
	context.AfterFunc(ctx, func() { server.Close() })
	return store, served, nil
}

// bareStore is a store of which a bare router only uses the put.
func (cmd *loadPartCmd) bareStore(ctx context.Context) (underLoad, func(ctx context.Context, key, value []byte) error, error) {
	if cmd.URL == "" {
		store, err := bolt.Open(cmd.Store, bolt.Options{})
		if err != nil {
			return nil, nil, err
		}
		return store, store.Bare, nil
	}
	cfg, err := configForLoad(cmd.URL, cmd.Store)
	if err != nil {
		return nil, nil, err
	}
	opened, err := openEngine(cfg, ctx, cmd.Store, nil)
	if err != nil {
		return nil, nil, err
	}
	store := opened.(database).Store
	if err := store.MakeBarePut(ctx); err != nil {
		return nil, nil, errors.Join(err, store.Close())
	}
	return store, store.BarePut, nil
}

// ownMemory is the program's own memory in bytes, without the pages of the
// store's file that the kernel keeps.
func ownMemory() int64 {
	held := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(held)
	return int64(held[0].Value.Uint64() - held[1].Value.Uint64())
}

// watchOwn keeps the most of it.
func watchOwn(ctx context.Context, most *atomic.Int64) {
	ticker := time.NewTicker(50 * time.Millisecond)
	defer ticker.Stop()
	for ctx.Err() == nil {
		if now, before := ownMemory(), most.Load(); now > before {
			most.CompareAndSwap(before, now) // else it was just asked
		}
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}
