package session

// Part is one part of a channel's daily money. Messages of one part never spend
// the money of another.
type Part string

// The parts.
const (
	ForKnown     Part = "known"     // answers to people we know
	ForDangers   Part = "dangers"   // alerts, and answers that carry a stop
	ForUnasked   Part = "unasked"   // reminders, and people's weeks
	ForStrangers Part = "strangers" // answers to people we do not know, and Further ones
)

// Parts lists them, the largest first.
func Parts() []Part { return []Part{ForKnown, ForDangers, ForUnasked, ForStrangers} }

// Share returns the part's share of the day's money, from 0 to 1. Source: our
// choice.
func (p Part) Share() float64 {
	switch p {
	case ForKnown:
		return 0.5
	case ForStrangers:
		return 0.1
	}
	return 0.2
}

// Unprompted reports whether nobody asked for a message of the purpose just now.
func (p Purpose) Unprompted() bool {
	return p == Reminding || p == Digest || p == Alert || p == Alerts
}

// OfOnePhone is the share of ForKnown that one phone may take. Source: our choice.
const OfOnePhone = 0.1

// LeastOfOnePhone is how many segments a phone may take in a day, however small
// that share is. Source: our choice.
const LeastOfOnePhone = 10

// Part is the part that pays for a message of the purpose.
func (p Purpose) Part() Part {
	switch p {
	case Safety, Alert, Alerts:
		return ForDangers
	case Reminding, Digest:
		return ForUnasked
	case Greeting, Further:
		return ForStrangers
	}
	return ForKnown
}
