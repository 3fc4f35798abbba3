package load

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"

	"github.com/gorilla/mux"

	"threshline/cmd/threshline/handset"
	"threshline/gateway"
	"threshline/session/store/bolt"
)

// putBytes is about what an exchange of a check puts: the dialogue with the last
// answers behind it, and now and then a check or answers that move out.
// screenBytes is about a screen.
const (
	putBytes    = 1330
	screenBytes = 110
)

// ceiling measures what is left when the dialogue is taken away: the router,
// the body, and one put through the same grouped and synced commit.
func (r *Run) ceiling(ctx context.Context, path string, n int) (m measured, err error) {
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
	m, err = measureAt(ctx, "http://"+listener.Addr().String(), r.Channel, n, r.For, store.Written)
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
		w.Header().Set(handset.MoreHeader, "true")
		_, _ = w.Write(screen)
	}).Methods(http.MethodPost)
	return router
}
