// Package bare is what is left of a gateway when the dialogue is taken away: the
// router, the body, and one put through the store's grouped and synced commit.
//
// It is the ceiling that a gateway is measured against.
package bare

import (
	"context"
	"io"
	"net/http"

	"github.com/gorilla/mux"
)

// screenBytes is about a screen.
const screenBytes = 110

// Router answers every message with a screen once put has stored so many bytes
// for it, under its body as the key.
func Router(put func(ctx context.Context, key, value []byte) error, bytes int) http.Handler {
	value, screen := make([]byte, bytes), make([]byte, screenBytes)
	router := mux.NewRouter()
	router.HandleFunc("/in/{channel}", func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, 64<<10))
		if err == nil {
			err = put(r.Context(), body, value)
		}
		if err != nil {
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
			return
		}
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.Header().Set("X-More", "true")
		_, _ = w.Write(screen)
	}).Methods(http.MethodPost, http.MethodGet)
	return router
}
