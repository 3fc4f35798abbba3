package main

import (
	"slices"
	"testing"
	"time"

	"threshline/gateway"
	"threshline/gateway/carrier"
)

// verify warns of a channel that sends, and that neither a region nor prefixes
// keep to a country.
func TestAChannelThatSendsEverywhereIsWarnedOf(t *testing.T) {
	send := &carrier.SendConfig{}
	c := &config{Channels: []carrier.Config{
		{Name: "open", Send: send}, {Name: "region", Send: send, Region: "FR"},
		{Name: "prefixes", Send: send, AllowPrefixes: []string{"+3363998"}}, {Name: "answers only"},
	}}
	if got := c.everywhere(); !slices.Equal(got, []string{"open"}) {
		t.Errorf("warned of %q", got)
	}
	c.Programme.Region = "FR"
	if got := c.everywhere(); len(got) != 0 {
		t.Errorf("with the programme's region warned of %q", got)
	}
}

// One half of a phone's limit counts without the other.
func TestLimitsThatAreLeftOutStayAtTheDefault(t *testing.T) {
	usual := gateway.DefaultLimits().Phone[0]
	for _, c := range []struct {
		name string
		set  limitsConfig
		want gateway.Limit
	}{
		{"nothing", limitsConfig{}, usual},
		{"the burst alone", limitsConfig{PhoneBurst: 7}, gateway.Limit{Burst: 7, Every: usual.Every}},
		{"the pace alone", limitsConfig{PhoneEvery: duration(time.Minute)}, gateway.Limit{Burst: usual.Burst, Every: time.Minute}},
		{"both", limitsConfig{PhoneBurst: 7, PhoneEvery: duration(time.Minute)}, gateway.Limit{Burst: 7, Every: time.Minute}},
	} {
		if got := c.set.forGateway().Phone[0]; got != c.want {
			t.Errorf("%s: got %+v, want %+v", c.name, got, c.want)
		}
	}
}
