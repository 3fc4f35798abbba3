package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"time"

	"threshline/cmd/threshline/config"
	"threshline/gateway"
	"threshline/gateway/carrier"
	"threshline/gateway/dispatch"
)

// channels are a configuration's, as the gateway and the worker use them.
type channels struct {
	in         []gateway.Inlet
	out        []dispatch.Outlet
	perSegment map[string]float64 // in the programme's currency, by channel
}

// buildChannels builds all channels, or says everything that is wrong with them.
func buildChannels(c *config.Config, client *http.Client) (channels, error) {
	setup := carrier.Setup{Region: c.Programme.Region, Secrets: carrier.Secrets(c.Dir)}
	built := channels{perSegment: map[string]float64{}}
	var problems []error
	names := map[string]bool{}
	for _, cfg := range c.Channels {
		if names[cfg.Name] {
			problems = append(problems, fmt.Errorf("channel %q: the name is used twice, but each channel needs an address of its own", cfg.Name))
		}
		names[cfg.Name] = true
		channel, err := carrier.New(cfg, setup)
		if err != nil {
			problems = append(problems, err)
			continue
		}
		built.in = append(built.in, gateway.InletOf(channel))
		if out, sends := gateway.OutletOf(channel, client, time.Now); sends {
			built.out = append(built.out, out)
			built.perSegment[out.Name] = out.PerSegment
		}
	}
	return built, errors.Join(problems...)
}

// limitsOf makes the gateway's limits; what is not set stays at its default.
func limitsOf(l config.Limits) gateway.Limits {
	limits := gateway.DefaultLimits()
	if l.PhoneBurst > 0 {
		limits.Phone[0].Burst = l.PhoneBurst
	}
	if l.PhoneEvery > 0 {
		limits.Phone[0].Every = time.Duration(l.PhoneEvery)
	}
	if l.PhonePerDay > 0 {
		limits.PerDay = l.PhonePerDay
	}
	if l.ChannelPerSecond > 0 {
		limits.Channel = gateway.Limit{Burst: max(1, int(2*l.ChannelPerSecond)), Every: time.Duration(float64(time.Second) / l.ChannelPerSecond)}
	}
	if l.InFlight > 0 {
		limits.InFlight = l.InFlight
	}
	return limits
}

// spread gives the jitter of retries.
func spread() float64 { return rand.Float64() }
