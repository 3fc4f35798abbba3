package main

import (
	"net/http"
	"strconv"
	"strings"
	"testing"

	"threshline/cmd/threshline/config"
	"threshline/cmd/threshline/demo"
	"threshline/gateway/carrier"
)

// FuzzConfiguration reads any text as a configuration file. What is refused is
// refused in words that name the file; what is taken gives settings and
// channels, or says by its key why not.
func FuzzConfiguration(f *testing.F) {
	f.Add(string(demo.Config))
	for _, seed := range []string{
		"", "[programme]\nname = 5", "[programme]\nnane = \"x\"", "[[channel]]\nname = \"a\"\nkind = \"fax\"",
		leastConfig, leastConfig + "[prices]\n\"I\" = nan\n", leastConfig + "[prices]\n\"I\" = 1e300\n",
		leastConfig + "[[climate]]\nmonth = 13\ncelsius = 26\nhumidity_percent = 78\n",
		leastConfig + "[limits]\nchannel_per_second = 1e-300\n", leastConfig + "[limits]\nphone_burst = 1\n",
		strings.Replace(leastConfig, "{{.Text}}", "{{.Text", 1), strings.Replace(leastConfig, "form:input", "xml:/a[", 1),
	} {
		f.Add(seed)
	}
	secret := func(string) (string, error) { return "a secret of some length", nil }
	f.Fuzz(func(t *testing.T, text string) {
		cfg, err := config.Parse("some.toml", []byte(text))
		if err != nil {
			if cfg != nil || !strings.HasPrefix(err.Error(), "some.toml:") {
				t.Fatalf("refused by %q, with a configuration: %v", err, cfg != nil)
			}
			return
		}
		if _, err := cfg.Settings(); err != nil && err.Error() == "" {
			t.Fatal("refused without a word")
		}
		limits := limitsOf(cfg.Limits)
		for _, l := range append(limits.Phone[:], limits.Channel) {
			if limits.InFlight < 1 || l.Every < 0 || l.Every > 0 && l.Burst < 1 {
				t.Fatalf("limits that nobody can keep: %+v", limits)
			}
		}
		for _, way := range cfg.Channels {
			channel, err := carrier.New(way, carrier.Setup{Region: cfg.Programme.Region, Secrets: secret})
			if err != nil {
				if !strings.Contains(err.Error(), strconv.Quote(way.Name)) {
					t.Fatalf("channel %q refused by %q", way.Name, err)
				}
				continue
			}
			r := &carrier.Request{Method: http.MethodPost, Body: []byte("input=1"), Header: http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}}
			if messages, err := channel.Read(r); err == nil && len(messages) == 0 {
				t.Fatal("neither a message nor an error")
			}
		}
	})
}

const leastConfig = `[programme]
name = "Mbuyu Valley rice scheme"
standard = "agmark-paddy"
[[channel]]
name = "valley"
kind = "ussd"
[channel.read]
from = "form:msisdn"
text = "form:input"
session = "form:sid"
[channel.reply]
body = "{{.Text}}"
[channel.guard]
open = true
`
