package dispatch

import (
	"time"

	"threshline/session"
)

// verdict is what is to be done with a claimed message before it is sent.
// A State of Queued puts it off until Due; an empty State lets it go out.
type verdict struct {
	state   session.OutgoingState
	due     time.Time
	problem string
}

// decide applies the rules that need only the message, the time and the outlet.
// The daily budget and the person's STOP come after it.
func decide(now time.Time, o session.Outgoing, out *outlet, quiet Quiet, zone *time.Location) verdict {
	if !o.Expires.IsZero() && now.After(o.Expires) {
		return verdict{state: session.Expired, problem: "too late to be of use"}
	}
	if !o.To.Answerable() {
		return verdict{state: session.Refused, problem: "a short code or a word cannot be answered"}
	}
	if out == nil {
		return verdict{state: session.Dead, problem: "no channel of that name can send"}
	}
	if !out.reaches(o.To) {
		return verdict{state: session.Refused, problem: "number range that this channel does not send to"}
	}
	if o.Purpose == session.Reminding || o.Purpose == session.Digest {
		if until := quiet.Until(now, zone); until.After(now) {
			return putOff(o, until, "quiet hours")
		}
	}
	return verdict{}
}

// putOff puts a message off, or drops it when it would then come too late.
func putOff(o session.Outgoing, until time.Time, why string) verdict {
	if !o.Expires.IsZero() && until.After(o.Expires) {
		return verdict{state: session.Expired, problem: "would come too late: " + why}
	}
	return verdict{state: session.Queued, due: until, problem: why}
}
