package main

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/gateway/dispatch"
	"threshline/session"
)

// plants are faults put back at the seams of the programme: what a turn writes,
// how a message is known again, what the loops do, how the clock is believed,
// what the store gives.
var plants = []plant{
	{name: "a danger said in a message is not filed", writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Checks {
			w.Checks[i].Readings.Flags = nil
		}
	}},
	{name: "an alert is lost", writes: func(s *simulation, w *session.Writes) {
		w.Outgoing = slices.DeleteFunc(w.Outgoing, func(o session.Outgoing) bool { return o.Purpose == session.Alert && s.chance(4) })
	}},
	{name: "alerts that are told together are lost", writes: func(_ *simulation, w *session.Writes) {
		w.Reminders = slices.DeleteFunc(w.Reminders, func(r session.Reminder) bool { return r.Kind == session.AlertKind && !r.Cancel })
	}},
	{name: "a message that comes again is taken for a new one", key: func(_ *simulation, k *session.Key) { k.Duplicate = "" }},
	{name: "an id that a carrier gives again brings the old screen", slow: true, reuseIDs: true, key: func(_ *simulation, k *session.Key) {
		if parts := strings.Split(k.Duplicate, "|"); len(parts) == 4 {
			k.Duplicate = strings.Join(parts[:3], "|")
			k.KeepUntil = k.KeepUntil.Add(7 * 24 * time.Hour)
		}
	}},
	{name: "an answer goes out that was not stored", lose: true},
	{name: "a token outlives what made it", slow: true, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Accounts {
			w.Accounts[i].Of = ""
		}
	}},
	{name: "a token that was ended still opens", writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Accounts {
			w.Accounts[i].Ended = time.Time{}
		}
	}},
	{name: "a clock that jumped lets people go", slow: true, station: func(s *simulation) {
		s.station.clock = dispatch.NewClock(s.station.outside.wall, func() time.Duration { return time.Since(s.booted) + s.offset }, time.Time{})
	}},
	{name: "the week is put off for ever", slow: true, station: func(s *simulation) {
		s.remind = func(ctx context.Context, now time.Time) (bool, error) {
			n, err := s.station.reminders.Round(ctx, now)
			return n > 0, err
		}
	}},
	{name: "what is sent is not noted", unsettled: true},
	{name: "STOP is not heard", writes: func(_ *simulation, w *session.Writes) {
		for i := range w.People {
			w.People[i].Stopped = time.Time{}
		}
	}},
	{name: "who is forgotten is not taken out of what is stored", writes: func(_ *simulation, w *session.Writes) { w.Forget = nil }},
	{name: "a reminder that was sent stays set", writes: func(_ *simulation, w *session.Writes) {
		w.Reminders = slices.DeleteFunc(w.Reminders, func(r session.Reminder) bool { return r.Cancel })
	}},
	{name: "the ledger misses a check", skips: true},
	{name: "a start begins the day's money anew", unspent: true},
}

// Every fault put back is found, or what holds in the simulation says nothing.
func TestEveryFaultPutBackIsFound(t *testing.T) {
	seldomCollect(t)
	for i := range plants {
		if plants[i].slow && !slowPlants {
			continue
		}
		t.Run(plants[i].name, func(t *testing.T) {
			for seed := uint64(1); seed <= mostSeedsToFind; seed++ {
				if _, err := simulated(t, seed, &plants[i], &tally{n: map[string]int{}}); err != nil {
					problem, _, _ := strings.Cut(err.Error(), "\n")
					t.Logf("seed %d: %s", seed, problem)
					return
				}
			}
			t.Errorf("not found in %d seeds", mostSeedsToFind)
		})
	}
}

// mostSeedsToFind is how many seeds a fault may go unfound.
const mostSeedsToFind = 500
