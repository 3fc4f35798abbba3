package gateway_test

import (
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"threshline/gateway"
)

// lines are a log's, each with its keys as often as they stand in it.
func lines(t *testing.T, log string) (all []map[string]any) {
	t.Helper()
	for line := range strings.Lines(log) {
		var entry map[string]any
		if err := json.Unmarshal([]byte(line), &entry); err != nil {
			t.Errorf("%q is no line of JSON: %v", line, err)
			continue
		}
		keys, words := 0, json.NewDecoder(strings.NewReader(line))
		for depth, isKey := 0, false; ; {
			word, err := words.Token()
			if err == io.EOF {
				break
			}
			if mark, ok := word.(json.Delim); ok {
				if depth += map[json.Delim]int{'{': 1, '[': 1, '}': -1, ']': -1}[mark]; depth > 1 {
					t.Errorf("%q holds more than plain values", line)
				}
				isKey = depth == 1
				continue
			}
			if isKey {
				keys++
			}
			isKey = !isKey
		}
		if keys != len(entry) {
			t.Errorf("%q has %d keys, and %d of them differ", line, keys, len(entry))
		}
		all = append(all, entry)
	}
	return all
}

// Visitors who do not speak TLS are written down in the same log as all else, one
// line a second with how many were left out.
func TestFaultsOfTLSGoToTheLogOnceASecond(t *testing.T) {
	var log lockedBuffer
	server := httptest.NewUnstartedServer(http.NotFoundHandler())
	server.Config = gateway.Server("", http.NotFoundHandler(), zerolog.New(&log).With().Timestamp().Logger())
	server.StartTLS()
	defer server.Close()
	began, counted := time.Now(), 0
	const visitors = 200
	for range visitors {
		c, err := net.Dial("tcp", server.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := c.Write([]byte("neither TLS nor anything else\n")); err != nil {
			t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, c) // until it is written down and let go
		c.Close()
	}
	entries := lines(t, log.String())
	for _, e := range entries {
		left, _ := e["left_out"].(float64)
		counted += 1 + int(left)
		if e["message"] != "connection" || !strings.Contains(e["cause"].(string), "TLS") {
			t.Errorf("a line says %v", e)
		}
	}
	if most := int(time.Since(began).Seconds()) + 1; len(entries) == 0 || len(entries) > most || counted > visitors {
		t.Errorf("%d lines for %d visitors in %v, of %d", len(entries), visitors, time.Since(began), counted)
	}
}
