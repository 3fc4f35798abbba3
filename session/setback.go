package session

import "time"

// ClocksApart is how far the clocks of two gateways may be apart: a time server keeps
// them within a second. A clock that is earlier by more than a time that was written
// down was set back since. Source: assumed.
const ClocksApart = 5 * time.Minute

// SetBack puts right what a waiting message was given by a clock that was ahead, and
// is set back to now: the message is due now, and if it was to be kept for longer
// than any message waits, that time begins now. One that was made later than now was
// made now: else it would be put right again, whatever put it off since. It reports
// whether anything was put right.
func (o *Outgoing) SetBack(now time.Time) bool {
	if latest := now.Add(ClocksApart); !o.Created.After(latest) && !o.Changed.After(latest) {
		return false
	}
	if o.Expires.After(now.Add(longestWait)) {
		o.Expires = now.Add(o.Expires.Sub(o.Created))
	}
	o.Due, o.Changed = now, now
	if o.Created.After(now) {
		o.Created = now
	}
	return true
}

// longestSet is longer than any reminder is set ahead.
const longestSet = 100 * 24 * time.Hour

// SetBack puts right when a reminder is due that was set by a clock that was ahead,
// and is set back to now: lots that a coordinator is told of with others in the next
// hour, anything else that would come after longer than any is set, on the next day.
// It reports whether it was.
func (r *Reminder) SetBack(now time.Time) bool {
	switch {
	case r.Kind == AlertKind && r.Due.After(alertsAt(now.Add(ClocksApart))):
		r.Due = alertsAt(now)
	case r.Due.After(now.Add(longestSet)):
		r.Due = now.Add(24 * time.Hour)
	default:
		return false
	}
	r.First = time.Time{}
	return true
}
