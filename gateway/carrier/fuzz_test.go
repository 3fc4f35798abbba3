package carrier_test

import (
	"errors"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"threshline/gateway/carrier"
	"threshline/session"
)

// allChannels are the channels of testdata: a reader of every kind.
func allChannels(t testing.TB) map[string]*carrier.Channel {
	names, err := filepath.Glob(testdata + "*.toml")
	if err != nil || len(names) == 0 {
		t.Fatalf("found no channel: %v", err)
	}
	all := map[string]*carrier.Channel{}
	for _, name := range names {
		all[strings.TrimSuffix(filepath.Base(name), ".toml")] = newChannel(t, string(readFile(t, name)))
	}
	return all
}

// FuzzRead gives every kind of reader any request.
func FuzzRead(f *testing.F) {
	channels := allChannels(f)
	names, err := filepath.Glob(testdata + "*.http")
	if err != nil || len(names) == 0 {
		f.Fatalf("found no request: %v", err)
	}
	for _, name := range names {
		r, err := carrier.ParseCaptured(readFile(f, name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(r.URL.RawQuery, r.Header.Get("Content-Type"), r.Header.Get("X-Line"), r.Body)
	}
	f.Fuzz(func(t *testing.T, query, contentType, line string, body []byte) {
		for name, c := range channels {
			r := &carrier.Request{
				Method: method(c), URL: &url.URL{Path: "/in/" + name + "/a/b", RawQuery: query}, Body: body,
				Header: http.Header{"Content-Type": {contentType}, "X-Line": {line}},
			}
			messages, err := c.Read(r)
			if err == nil && len(messages) == 0 {
				t.Fatalf("%s: neither a message nor an error", name)
			}
			check(t, name, c, messages)
			if _, err := c.Explain(r); err == nil {
				c.Places(r, 1)
			}
			if err := c.Admit(r, noon); err != nil && !errors.Is(err, carrier.ErrRefused) && !errors.Is(err, carrier.ErrTooLarge) {
				t.Fatalf("%s: admit: %v", name, err)
			}
		}
	})
}

// check holds what is true of every message that was understood.
func check(t *testing.T, name string, c *carrier.Channel, messages []carrier.Inbound) {
	var answers []carrier.Answer
	for _, in := range messages {
		if in.From == "" || len(in.From) > 33 {
			t.Fatalf("%s: sender %q", name, string(in.From))
		}
		digits := strings.Trim(string(in.From), "+0123456789") == ""
		if in.From.Answerable() && (!digits || len(in.From) > 16) {
			t.Fatalf("%s: %q passes for a number", name, string(in.From))
		}
		if !utf8.ValidString(in.Text) || strings.ContainsAny(in.Text, "\x00\n\r\u202e") {
			t.Fatalf("%s: text %q", name, in.Text)
		}
		text, _ := c.Latest("1", in)
		if !utf8.ValidString(text) {
			t.Fatalf("%s: latest %q", name, text)
		}
		answers = append(answers, carrier.Answer{Reply: session.Reply{Text: in.Text}, To: in})
	}
	if len(answers) == 0 {
		return
	}
	response, err := c.Write(answers...)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for key, values := range response.Header {
		if strings.ContainsAny(values[0], "\r\n") {
			t.Fatalf("%s: header %s: %q", name, key, values[0])
		}
	}
}

// FuzzCaptured gives the reader of captured requests anything.
func FuzzCaptured(f *testing.F) {
	f.Add([]byte("POST /in/a HTTP/1.1\nHost: b\n\nbody\n"))
	f.Add([]byte("GET / HTTP/1.1\r\nHost: b\r\nContent-Length: 3\r\n\r\nabc"))
	f.Add([]byte("POST / HTTP/1.1\r\nHost: b\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n0\r\n\r\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		r, err := carrier.ParseCaptured(raw)
		if err == nil && (r.URL == nil || r.Header == nil || len(r.Body) > len(raw)) {
			t.Fatalf("%q became %+v", raw, r)
		}
	})
}

// FuzzUnderstand gives the reader of a carrier's answers anything.
func FuzzUnderstand(f *testing.F) {
	json := sending(f, "[send]\nurl = \"https://carrier.example/\"\nok = \"json:/a\"\nok_values = [\"1\"]\nid = \"json:/b\"\n")
	xml := sending(f, "[send]\nurl = \"https://carrier.example/\"\nok = \"xml:/a\"\nok_values = [\"1\"]\nid = \"xml://@b\"\n")
	f.Add(200, "text/xml", "5", []byte(`<a b="1">1</a>`))
	f.Add(200, "application/json; charset=x", "Mon", []byte(`{"a":1,"b":"c"}`))
	f.Fuzz(func(t *testing.T, status int, contentType, after string, body []byte) {
		header := http.Header{"Content-Type": {contentType}, "Retry-After": {after}}
		for _, c := range []*carrier.Channel{json, xml} {
			got := c.Understand(status, header, body, noon)
			if got.OK == (got.Problem != "") || got.RetryAfter < 0 {
				t.Fatalf("got %+v", got)
			}
		}
	})
}

// method is one that the channel takes.
func method(c *carrier.Channel) string {
	if m := c.Config().Read.Methods; len(m) > 0 {
		return m[0]
	}
	return http.MethodPost
}
