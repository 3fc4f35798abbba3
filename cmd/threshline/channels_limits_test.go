package main

import (
	"testing"
	"time"

	"threshline/gateway"
)

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
