package load

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"time"
)

// Exported is what an export of all checks of a full store came to. Its name is how it
// stands in the answer as JSON.
type Exported struct {
	Bytes  int64   `json:"bytes"`
	Alone  float64 `json:"alone_s"`  // while nobody talks
	Beside float64 `json:"beside_s"` // while phones talk at paceBeside of their rate
	// What the phones reached meanwhile; times count from when a message was due.
	Rate float64 `json:"exchanges_per_second"`
	P50  float64 `json:"p50_ms"`
	P99  float64 `json:"p99_ms"`
}

// paceBeside is the part of their rate at which phones talk while all is exported.
const paceBeside = 0.7

// exporting measures an export of everything, alone and while the phones talk.
func (p *part) exporting(ctx context.Context, token string) (*Exported, error) {
	var e Exported
	var err error
	if e.Alone, e.Bytes, err = export(ctx, p.crew.base, token); err != nil {
		return nil, err
	}
	done := make(chan error, 1)
	talking, stop := context.WithCancel(ctx)
	go func() {
		defer stop()
		var err error
		e.Beside, e.Bytes, err = export(ctx, p.crew.base, token)
		done <- err
	}()
	took, err := p.crew.pacedWhile(ctx, func(int64) bool { return talking.Err() == nil }, paceBeside*p.rate())
	if failed := <-done; failed != nil {
		err = failed
	}
	if err != nil {
		return nil, err
	}
	e.Rate = float64(len(took)) / e.Beside
	e.P50, e.P99 = quantiles(took)
	return &e, nil
}

// export fetches all checks as CSV, and tells how long that took, in seconds.
func export(ctx context.Context, base, token string) (seconds float64, bytes int64, err error) {
	begin := time.Now()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, base+"/admin/v1/export?format=csv&state=any", nil)
	if err != nil {
		return 0, 0, fmt.Errorf("load: export: %w", err)
	}
	r.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, 0, fmt.Errorf("load: export: %w", err)
	}
	defer resp.Body.Close()
	if bytes, err = io.Copy(io.Discard, resp.Body); err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("status %d", resp.StatusCode)
	}
	if err != nil {
		return 0, 0, fmt.Errorf("load: export: %w", err)
	}
	return time.Since(begin).Seconds(), bytes, nil
}
