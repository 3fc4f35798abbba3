package main

import (
	"slices"
	"testing"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/gateway"
	"threshline/gateway/carrier"
)

// verify warns of a channel that sends, and that neither a region nor prefixes
// keep to a country.
func TestAChannelThatSendsEverywhereIsWarnedOf(t *testing.T) {
	send := &carrier.SendConfig{}
	c := &config.Config{Channels: []carrier.Config{
		{Name: "open", Send: send}, {Name: "region", Send: send, Region: "FR"},
		{Name: "prefixes", Send: send, AllowPrefixes: []string{"+3363998"}}, {Name: "answers only"},
	}}
	if got := c.Everywhere(); !slices.Equal(got, []string{"open"}) {
		t.Errorf("warned of %q", got)
	}
	c.Programme.Region = "FR"
	if got := c.Everywhere(); len(got) != 0 {
		t.Errorf("with the programme's region warned of %q", got)
	}
}

// One half of a phone's limit counts without the other.
func TestLimitsThatAreLeftOutStayAtTheDefault(t *testing.T) {
	usual := gateway.DefaultLimits().Phone[0]
	for _, c := range []struct {
		name string
		set  config.Limits
		want gateway.Limit
	}{
		{"nothing", config.Limits{}, usual},
		{"the burst alone", config.Limits{PhoneBurst: 7}, gateway.Limit{Burst: 7, Every: usual.Every}},
		{"the pace alone", config.Limits{PhoneEvery: config.Duration(time.Minute)}, gateway.Limit{Burst: usual.Burst, Every: time.Minute}},
		{"both", config.Limits{PhoneBurst: 7, PhoneEvery: config.Duration(time.Minute)}, gateway.Limit{Burst: 7, Every: time.Minute}},
	} {
		if got := limitsOf(c.set).Phone[0]; got != c.want {
			t.Errorf("%s: got %+v, want %+v", c.name, got, c.want)
		}
	}
}
