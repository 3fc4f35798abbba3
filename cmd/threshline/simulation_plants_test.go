package main

import (
	"context"
	"iter"
	"slices"
	"strings"
	"testing"
	"time"

	"threshline/session"
)

// plants are faults put back at the seams of the programme: what a turn writes,
// how a message is known again, what the loops do, how the clock is believed,
// what the store gives.
var plants = []plant{
	{name: "a danger said in a message is not filed", rule: ruleDanger, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Checks {
			w.Checks[i].Readings.Flags = nil
		}
	}},
	{name: "an alert is lost", rule: ruleDanger, alone: true, writes: func(s *simulation, w *session.Writes) {
		w.Outgoing = slices.DeleteFunc(w.Outgoing, func(o session.Outgoing) bool { return o.Purpose == session.Alert && s.chance(4) })
	}},
	{name: "alerts that are told together are lost", rule: ruleDanger, writes: func(_ *simulation, w *session.Writes) {
		w.Reminders = slices.DeleteFunc(w.Reminders, func(r session.Reminder) bool { return r.Kind == session.AlertKind && !r.Cancel })
	}},
	{name: "a message that comes again is taken for a new one", rule: ruleAlike, alone: true, key: func(_ *simulation, k *session.Key) { k.Duplicate = "" }},
	{name: "an id that a carrier gives again brings the old screen", seed: 9, rule: ruleAlike, slow: true, key: func(_ *simulation, k *session.Key) {
		if parts := strings.Split(k.Duplicate, "|"); len(parts) == 4 {
			k.Duplicate = strings.Join(parts[:3], "|")
			k.KeepUntil = k.KeepUntil.Add(7 * 24 * time.Hour)
		}
	}},
	{name: "an answer goes out that was not stored", rule: ruleKept, lose: true},
	{name: "a token outlives what made it", seed: 37, one: true, rule: ruleEnded, slow: true, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Accounts {
			w.Accounts[i].Of = ""
		}
	}},
	{name: "a token that was ended still opens", rule: ruleEnded, alone: true, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Accounts {
			w.Accounts[i].Ended = time.Time{}
		}
	}},
	{name: "a clock that jumped lets people go", seed: 28, rule: ruleKnown, alone: true, slow: true, believes: true},
	{name: "the week is put off for ever", rule: ruleInTime, alone: true, slow: true, station: func(s *simulation) {
		s.remind = func(ctx context.Context, now time.Time) (bool, error) {
			n, err := s.station.reminders.Round(ctx, now)
			return n > 0, err
		}
	}},
	{name: "a turn changes a check that it was listed", rule: ruleAnswers, meddles: true},
	{name: "what is sent is not noted", rule: ruleInTime, unsettled: true},
	{name: "STOP is not heard", rule: ruleStop, alone: true, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.People {
			w.People[i].Stopped = time.Time{}
		}
	}},
	{name: "who is forgotten is not taken out of what is stored", seed: 12, rule: ruleForgotten, alone: true, writes: func(_ *simulation, w *session.Writes) { w.Forget = nil }},
	{name: "a reminder that was sent stays set", rule: ruleRest, writes: func(_ *simulation, w *session.Writes) {
		w.Reminders = slices.DeleteFunc(w.Reminders, func(r session.Reminder) bool { return r.Cancel })
	}},
	{name: "a danger is corrected away", rule: ruleDanger, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Checks {
			if w.Checks[i].Version > 0 {
				w.Checks[i].Readings.Flags = nil
			}
		}
	}},
	{name: "a lot that is no food is shown like any other", rule: ruleDanger, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Outgoing {
			if w.Outgoing[i].Purpose == session.Safety {
				w.Outgoing[i].Purpose = session.Answer
			}
		}
	}},
	{name: "what is filed is not what was said", rule: ruleKept, alone: true, stored: func(_ *simulation, w *session.Writes) {
		w.Checks = slices.Clone(w.Checks)
		for i := range w.Checks {
			w.Checks[i].Lot.Bags++
		}
	}},
	{name: "an answer is lost", rule: ruleAnswers, alone: true, writes: func(s *simulation, w *session.Writes) {
		w.Outgoing = slices.DeleteFunc(w.Outgoing, func(o session.Outgoing) bool { return o.Purpose == session.Answer && s.chance(4) })
	}},
	{name: "strangers are answered from the money of those we know", seed: 9, rule: ruleAnswers, without: ruleMoney, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Outgoing {
			if w.Outgoing[i].Purpose == session.Greeting {
				w.Outgoing[i].Purpose = session.Answer
			}
		}
	}},
	{name: "alerts have no ceiling", rule: ruleMoney, alone: true, unlimited: true},
	{name: "a reminder is overlooked", rule: ruleInTime, alone: true, undue: true},
	{name: "what a clock ahead made waits for that day", rule: ruleInTime, alone: true, seed: 164, slow: true, stuck: true},
	{name: "what hands counted is given a grade", rule: ruleApart, alone: true, seed: newerFrom, writes: func(_ *simulation, w *session.Writes) {
		for i := range w.Checks {
			if c := &w.Checks[i]; byHands(c) && len(c.Gates) == 0 {
				c.Grade = "I"
			}
		}
	}},
	{name: "who moved is reminded by the phone of before", rule: ruleMoved, alone: true, seed: newerFrom + 8, writes: func(s *simulation, w *session.Writes) {
		for i := range w.Outgoing {
			for _, m := range s.truth.moved {
				if o := &w.Outgoing[i]; o.To == m.now && o.Purpose == session.Reminding {
					o.To = m.was
				}
			}
		}
	}},
	{name: "only the last checks teach", rule: ruleLearnt, alone: true, seed: newerFrom + 11, newest: true},
	{name: "the week comes twice", rule: ruleInTime, alone: true, writes: func(_ *simulation, w *session.Writes) {
		for _, o := range w.Outgoing {
			if o.Purpose == session.Digest {
				o.ID += "-2"
				w.Outgoing = append(w.Outgoing, o)
			}
		}
	}},
	{name: "the ledger misses a check", rule: ruleLedger, alone: true, skips: true},
	{name: "what has expired cannot be swept", rule: ruleRest, alone: true, unswept: true},
	{name: "each message leaves memory behind", rule: ruleReturns, alone: true, writes: func(s *simulation, _ *session.Writes) {
		s.leaked = append(s.leaked, make([]byte, 32<<10))
	}},
	{name: "a message leaves a goroutine behind", rule: ruleReturns, alone: true, writes: func(s *simulation, _ *session.Writes) {
		if s.chance(8) {
			go func() { <-s.over }()
		}
	}},
	{name: "a start begins the day's money anew", seed: 9, rule: ruleMoney, alone: true, unspent: true},
	{name: "each gateway spends the whole day's money", rule: ruleMoney, two: true, eachSpends: true},
	{name: "a gateway that was paused ends what another took over", rule: ruleInTime, two: true, slow: true, unfenced: true, seed: 69},
	{name: "a ledger passes over what another gateway filed late", rule: ruleLedger, two: true, passesOver: true},
	{name: "a gateway that goes on stores what another has answered", rule: ruleAlike, two: true, key: func(s *simulation, k *session.Key) {
		if s.redelivered {
			k.Duplicate += "again"
		}
	}},
}

// Every fault put back is found by the rule that is there for it, or what holds in the
// simulation says nothing. What another rule finds first does not count, and of a
// fault that no other may find, a run that leaves the rule out finds nothing.
func TestEveryFaultPutBackIsFound(t *testing.T) {
	seldomCollect(t)
	for i := range plants {
		if plants[i].slow && !slowPlants {
			continue
		}
		t.Run(plants[i].name, func(t *testing.T) {
			atOnce := 1
			if plants[i].rule != ruleReturns { // what memory it takes is another's matter
				t.Parallel()
				atOnce = 2
			}
			for seed := range plants[i].seeds() {
				_, err := simulated(t, seed, &plants[i], newTally(), atOnce)
				if plants[i].alone && brokenBy(err) != "" {
					without := plants[i]
					without.without = without.rule
					if _, err := simulated(t, seed, &without, newTally(), atOnce); err != nil {
						t.Fatalf("seed %d, without the rule: %v", seed, err)
					}
				}
				if brokenBy(err) == plants[i].rule {
					problem, _, _ := strings.Cut(err.Error(), "\n")
					t.Logf("seed %d: %s", seed, problem)
					return
				}
			}
			t.Errorf("not found in %d seeds", mostSeedsToFind)
		})
	}
}

// Every rule finds a fault that no other does, or it could be left out.
func TestEveryRuleIsNeeded(t *testing.T) {
	for _, r := range rules {
		if !slices.ContainsFunc(plants, func(p plant) bool { return p.rule == r && p.alone }) {
			t.Errorf("no fault that is put back is found by this rule alone: %s", r)
		}
	}
}

// seeds are those that a fault is looked for in: first the one that found it last.
func (p *plant) seeds() iter.Seq[uint64] {
	return func(yield func(uint64) bool) {
		if p.seed != 0 && !yield(p.seed) {
			return
		}
		for seed := uint64(1); seed <= mostSeedsToFind; seed++ {
			if (!p.two || hasTwo(seed)) && (!p.believes && !p.one || !hasTwo(seed)) && !yield(seed) { // clocks that are hours apart break more
				return
			}
		}
	}
}

// mostSeedsToFind is how many seeds a fault may go unfound.
const mostSeedsToFind = 500
