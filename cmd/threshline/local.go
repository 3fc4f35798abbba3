package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/gateway/desk/access"
)

// serveLocal answers at the local socket until ctx ends. A gateway without one
// still serves.
func (s *station) serveLocal(ctx context.Context) {
	path := s.cfg.LocalSocket()
	_ = os.Remove(path) // of a gateway that was killed: we hold the store
	listener, err := net.Listen("unix", path)
	if err == nil {
		err = os.Chmod(path, 0o600)
	}
	if err != nil {
		s.log.Warn().Err(err).Msg("threshline access cannot reach this gateway while it runs")
		return
	}
	mux := http.NewServeMux()
	mux.HandleFunc("POST /access", func(w http.ResponseWriter, r *http.Request) {
		var wish machineWish
		err := json.NewDecoder(http.MaxBytesReader(w, r.Body, 64<<10)).Decode(&wish)
		made := ""
		if err == nil {
			made, err = wish.grant(r.Context(), s.front.Guard())
		}
		problem, wrong := access.Wrongly(err)
		switch {
		case wrong:
			http.Error(w, problem, http.StatusUnprocessableEntity)
		case err != nil:
			s.log.Error().Err(err).Msg("threshline access")
			http.Error(w, "the gateway could not do it; the fault is in its log", http.StatusInternalServerError)
		default:
			_, _ = io.WriteString(w, made)
		}
	})
	server := &http.Server{Handler: mux, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second}
	context.AfterFunc(ctx, func() { _ = server.Close() })
	go func() { _ = server.Serve(listener) }()
}

// askLocal asks the running gateway for a link or a token.
func askLocal(ctx context.Context, cfg *config.Config, wish machineWish) (string, error) {
	client := &http.Client{Transport: &http.Transport{DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
		var d net.Dialer
		return d.DialContext(ctx, "unix", cfg.LocalSocket())
	}}}
	defer client.CloseIdleConnections()
	body, err := json.Marshal(wish)
	if err != nil {
		return "", err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://local/access", bytes.NewReader(body))
	if err != nil {
		return "", err
	}
	resp, err := client.Do(r)
	if err != nil {
		return "", &fault{fmt.Errorf("access: the gateway that runs cannot be reached: %w", err), "run this as root or as the gateway's own user, or stop the gateway"}
	}
	defer resp.Body.Close()
	answer, err := io.ReadAll(io.LimitReader(resp.Body, 64<<10))
	if err == nil && resp.StatusCode != http.StatusOK {
		err = errors.New("access: " + string(bytes.TrimSpace(answer)))
	}
	return string(answer), err
}
