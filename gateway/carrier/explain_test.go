package carrier_test

import (
	"slices"
	"testing"

	"threshline/gateway/carrier"
)

func TestPlacesAreWrittenAsTheConfigurationHasThem(t *testing.T) {
	channels := allChannels(t)
	for _, c := range []struct {
		name, channel string
		request       *carrier.Request
		message       int
		want          []string
	}{
		{"form", "plain-form", post("application/x-www-form-urlencoded", "b=1&a=2"), 0, []string{"path:1", "path:2", "form:a", "form:b"}},
		{"JSON", "stage-json", post("application/json", `{"a/b":{"c~":1},"d":[{"e":1},{"f":1}]}`), 0, []string{"path:1", "path:2", "json:/a~1b/c~0", "json:/d/0/e"}},
		{"a JSON batch", "heap-json", post("application/json", `{"bundle":{"items":[{"x":1},{"y":{"z":1}}]}}`), 2, []string{"path:1", "path:2", "json:/y/z"}},
		{"XML", "tree-xml", post("text/xml", `<a n="1"><b>x</b></a>`), 0, []string{"path:1", "path:2", "xml:/a/@n", "xml:/a/b"}},
		{"an XML batch", "heap-xml", post("text/xml", `<a><letter no="1"><from>x</from></letter></a>`), 1, []string{"path:1", "path:2", "xml:@no", "xml:from"}},
		{"query and headers", "bare-text", get("/in/bare-text/x?q=1", "X-Own", "1", "User-Agent", "y"), 0, []string{"path:1", "query:q", "header:X-Own"}},
		{"nothing", "plain-form", get("/in/plain-form"), 0, nil},
	} {
		if got := channels[c.channel].Places(c.request, c.message); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}
