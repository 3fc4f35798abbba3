package access_test

import (
	"net/http/httptest"
	"testing"

	"threshline/gateway/desk/access"
)

func TestWhoeverIsBehindAProxyHasTheirOwnAddress(t *testing.T) {
	for what, c := range map[string]struct {
		proxies   int
		forwarded []string
		want      string
	}{
		"no proxy, whatever is written": {0, []string{"203.0.113.5"}, "192.0.2.1"},
		"one proxy":                     {1, []string{"203.0.113.5"}, "203.0.113.5"},
		"one proxy, and a lie before":   {1, []string{"10.0.0.1, 203.0.113.5"}, "203.0.113.5"},
		"two proxies":                   {2, []string{"10.0.0.1, 203.0.113.5", "198.51.100.2"}, "203.0.113.5"},
		"past the proxies":              {2, []string{"203.0.113.5"}, "192.0.2.1"},
		"with a port":                   {1, []string{"203.0.113.5:4711"}, "203.0.113.5"},
		"IPv6":                          {1, []string{"2001:db8::5"}, "2001:db8::5"},
		"nonsense":                      {1, []string{"unknown"}, "192.0.2.1"},
	} {
		r := httptest.NewRequest("GET", "/desk/", nil)
		r.Header["X-Forwarded-For"] = c.forwarded
		if got := access.Behind(c.proxies)(r).String(); got != c.want {
			t.Errorf("%s: %s, want %s", what, got, c.want)
		}
	}
}
