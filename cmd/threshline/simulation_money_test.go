package main

import (
	"slices"
	"time"

	"threshline/session"
)

// dailyParts are the parts of a day's money, in segments, as README says.
var dailyParts = map[session.Part]int{session.ForKnown: 10, session.ForDangers: 4, session.ForUnasked: 4, session.ForStrangers: 2}

// unbound are the messages that go out although their part is spent.
var unbound = []session.Purpose{session.Safety, session.Alerts}

// dayPart is a part of a day's money.
type dayPart struct {
	day  string
	part session.Part
}

func (t *truth) dayPart(s *simulation, at time.Time, ref string) dayPart {
	return dayPart{at.In(s.station.programme.Zone).Format(time.DateOnly), t.meant[session.OutgoingID(ref)].Part()}
}

// money holds the day's budget, but for what the carrier took without saying so:
// a start cannot know of that.
func (t *truth) money(s *simulation) {
	if s.jumped {
		return
	}
	spent := map[dayPart]int{}
	for _, text := range s.carrier.sent {
		if text.unknown {
			continue
		}
		d := t.dayPart(s, text.at, text.ref)
		spent[d] += text.segments
		if limit := dailyParts[d.part]; spent[d] > limit && !slices.Contains(unbound, t.meant[session.OutgoingID(text.ref)]) {
			s.wrong(ruleMoney, "on %s %d segments went out for %s, of %d", d.day, spent[d], d.part, limit)
		}
	}
}
