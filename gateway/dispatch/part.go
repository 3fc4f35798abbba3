package dispatch

import "threshline/session"

// Part is a part of a channel's money of the day. What one is for spends nothing
// of another.
type Part string

// The parts.
const (
	ForKnown     Part = "known"     // answers to people we know
	ForDangers   Part = "dangers"   // alerts, and answers that carry a stop
	ForUnasked   Part = "unasked"   // reminders, and people's weeks
	ForStrangers Part = "strangers" // answers to people we do not know
)

// Parts lists them, the largest first.
func Parts() []Part { return []Part{ForKnown, ForDangers, ForUnasked, ForStrangers} }

// Share is how much of the day's money the part is, from 0 to 1. Source: our choice.
func (p Part) Share() float64 {
	switch p {
	case ForKnown:
		return 0.5
	case ForStrangers:
		return 0.1
	}
	return 0.2
}

// partOf is the part that pays for a purpose.
func partOf(p session.Purpose) Part {
	switch p {
	case session.Safety, session.Alert, session.Alerts:
		return ForDangers
	case session.Reminding, session.Digest:
		return ForUnasked
	case session.Greeting:
		return ForStrangers
	}
	return ForKnown
}

// heldBack reports whether spent money may hold the purpose back: never an answer
// that carries a stop, nor the one message an hour in which alerts are joined.
func heldBack(p session.Purpose) bool { return p != session.Safety && p != session.Alerts }
