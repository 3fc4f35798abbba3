package programme

import "threshline/session"

// Find finds a filed check; false when there is no such check.
type Find func(session.Slip) (session.Check, bool)

// Latest returns a check, or its latest correction, as find finds it; false if there is
// none.
func Latest(slip session.Slip, find Find) (session.Check, bool) {
	for range longestChain {
		if slip == "" { // nothing is looked for: most checks re-check none
			break
		}
		c, ok := find(slip)
		if !ok {
			break
		}
		if c.State != session.Corrected || c.ReplacedBy == "" {
			return c, true
		}
		slip = c.ReplacedBy
	}
	return session.Check{}, false
}

// longestChain is how many corrections in a row are followed. A longer row is a fault
// of the store.
const longestChain = 16

// Unsound returns the sample that a pooled check still counts although it no longer
// stands: it was withdrawn, or corrected to other readings. The grade made from both is
// then wrong until the lot is checked again or the check is corrected.
func Unsound(c session.Check, find Find) (changed session.Slip, unsound bool) {
	for range longestChain {
		if !c.Pooled() {
			return "", false
		}
		counted, ok := find(c.Recheck)
		if !ok {
			return "", false
		}
		now, ok := Latest(counted.Slip, find)
		if !ok || now.State == session.Withdrawn || !now.Readings.Same(&counted.Readings) {
			return counted.Slip, true
		}
		c = counted
	}
	return "", false
}

// Newer returns the last check in force that replaced a check, or that was made of its
// lot later. A buyer with the older slip should hear of it. It is empty if there is
// none.
func Newer(c session.Check, find Find) (slip session.Slip) {
	for range longestChain {
		next := c.RecheckedBy
		if c.State == session.Corrected {
			next = c.ReplacedBy
		}
		later, ok := find(next)
		if !ok || next == "" {
			break
		}
		if c = later; c.State == session.Filed {
			slip = c.Slip
		}
	}
	return slip
}

// Poisoned returns the check before, of the same lot, in which a sign was seen that
// makes the lot no food, and that sign. It returns none if the check itself says so or
// carries the sign over. Only checks filed before signs were carried over are found.
func (p *Programme) Poisoned(c session.Check, find Find) (before session.Check, poison []Danger) {
	if len(p.Poison(&c)) > 0 {
		return session.Check{}, nil
	}
	for range longestChain {
		b, ok := Latest(c.Recheck, find)
		if !ok {
			break
		}
		if poison = p.Poison(&b); b.State == session.Filed && len(poison) > 0 {
			return b, poison
		}
		c = b
	}
	return session.Check{}, nil
}
