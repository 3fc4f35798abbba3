package programme

import "threshline/session"

// Find finds a filed check; false when there is no such check.
type Find func(session.Slip) (session.Check, bool)

// Latest is a check, or what it was corrected to, and that, by what finds a
// check; false where there is none.
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

// longestChain of corrections is followed; more is a mistake of the store's.
const longestChain = 16

// Unsound returns the sample that is counted in a pooled check although it no
// longer stands: it was withdrawn since, or corrected to other readings. What
// was made of both is then true of nothing, until the lot is checked again or
// the check corrected.
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

// Newer is the last check in force that replaced a check or was made of its lot
// after it: who buys by an older slip should know of it. Empty for none.
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

// Poisoned is the check before, of a lot checked again, in which something was
// seen that makes it no food, and what; none where the check itself says or holds
// so. Only checks that were filed before signs were held on to are found.
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
