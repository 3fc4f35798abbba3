package carrier_test

import (
	"strings"
	"testing"

	"threshline/gateway/carrier"
)

func TestACaptureIsReadHoweverItWasWrittenDown(t *testing.T) {
	for name, raw := range map[string]string{
		"as on the wire":                  "POST /in/a?b=1 HTTP/1.1\r\nHost: c\r\nContent-Length: 4\r\n\r\nd=10",
		"with an editor's line ends":      "POST /in/a?b=1 HTTP/1.1\nHost: c\n\nd=10\n",
		"with a line end too many":        "POST /in/a?b=1 HTTP/1.1\r\nHost: c\r\nContent-Length: 4\r\n\r\nd=10\r\n",
		"with empty lines before it":      "\n\nPOST /in/a?b=1 HTTP/1.1\nHost: c\n\nd=10",
		"in chunks":                       "POST /in/a?b=1 HTTP/1.1\r\nHost: c\r\nTransfer-Encoding: chunked\r\n\r\n2\r\nd=\r\n2\r\n10\r\n0\r\n\r\n",
		"by a client of HTTP version 1.0": "POST /in/a?b=1 HTTP/1.0\nHost: c\n\nd=10\n",
	} {
		r, err := carrier.ParseCaptured([]byte(raw))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if r.Method != "POST" || r.URL.Path != "/in/a" || r.URL.RawQuery != "b=1" || string(r.Body) != "d=10" {
			t.Errorf("%s: got %s %s %q", name, r.Method, r.URL, r.Body)
		}
	}
	for name, raw := range map[string]string{
		"nothing":       "",
		"only a body":   "d=10",
		"cut off":       "POST / HTTP/1.1\nHost: c\nContent-Length: 9\n\nd=10",
		"broken chunks": "POST / HTTP/1.1\nHost: c\nTransfer-Encoding: chunked\n\nzz",
	} {
		if _, err := carrier.ParseCaptured([]byte(raw)); err == nil || !strings.HasPrefix(err.Error(), "carrier: ") {
			t.Errorf("%s: got %v", name, err)
		}
	}
}
