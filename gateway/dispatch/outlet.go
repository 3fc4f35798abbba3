package dispatch

import (
	"sync"
	"time"

	"golang.org/x/time/rate"

	"threshline/session"
)

// Outlet is a channel as the worker hands messages to it.
type Outlet struct {
	Name    string
	Carrier Carrier
	// PerSecond is how many messages a second the carrier takes; 0 is no limit.
	PerSecond float64
	// Parallel is how many messages are on their way to the carrier at once; 0 is 4.
	Parallel int
	// PerSegment is the price of one segment, 0 if free; DailyLimit is the most to
	// spend in a day, 0 for no limit. Both are in the programme's currency.
	PerSegment, DailyLimit float64
	// Segments counts what a text costs, in segments; nil counts each text one.
	Segments func(text string) int
	// Reaches reports whether we send to a number; nil means to any. Other numbers
	// are refused: a fraudster could earn money by making us text an expensive
	// number.
	Reaches func(session.Phone) bool
}

// Pauses of a channel whose carrier cannot be reached; our own choice.
const (
	failuresToPause = 5 // in a row
	firstPause      = 5 * time.Second
	longestPause    = 2 * time.Minute
	shortestWait    = 50 * time.Millisecond
	longestSpread   = 30 * time.Second
)

// outlet is an Outlet at work.
type outlet struct {
	Outlet
	budgets map[session.Part]*budget

	mu       sync.Mutex
	limiter  *rate.Limiter
	busy     int       // messages claimed and not yet settled
	failures int       // in a row
	pausedAt time.Time // nothing is handed on from here
	paused   time.Time // to here
	putOff   time.Time // the turn of the message put off last
}

// pausing reports whether nothing is handed on now. A clock that was set back since
// the pause began ends it, or it could last for years.
func (out *outlet) pausing(now time.Time) bool { return now.Before(out.paused) && !out.setBack(now) }

// setBack reports whether the clock is earlier than the begin of the last pause, by
// more than two failures at about the same time can explain.
func (out *outlet) setBack(now time.Time) bool { return now.Before(out.pausedAt.Add(-time.Minute)) }

func newOutlet(c Outlet, zone *time.Location) *outlet {
	if c.Parallel <= 0 {
		c.Parallel = 4
	}
	limit := rate.Inf
	if c.PerSecond > 0 {
		limit = rate.Limit(c.PerSecond)
	}
	out := &outlet{Outlet: c, limiter: rate.NewLimiter(limit, max(1, int(c.PerSecond))), budgets: map[session.Part]*budget{}}
	for _, part := range session.Parts() {
		out.budgets[part] = &budget{zone: zone, perSegment: c.PerSegment, limit: out.limit(part)}
	}
	return out
}

// limit is what a part of the day may cost; 0 is without limit.
func (out *outlet) limit(part session.Part) float64 { return out.DailyLimit * part.Share() }

// room is how many messages the outlet can start at now.
func (out *outlet) room(now time.Time) int {
	out.mu.Lock()
	defer out.mu.Unlock()
	if out.pausing(now) {
		return 0
	}
	room := out.Parallel - out.busy
	if out.limiter.Limit() != rate.Inf {
		room = min(room, int(out.limiter.TokensAt(now)))
	}
	return max(0, room)
}

// take starts one message, or returns the time until which it has to wait.
func (out *outlet) take(now time.Time) (wait time.Time, ok bool) {
	out.mu.Lock()
	defer out.mu.Unlock()
	if out.pausing(now) {
		return out.turn(out.paused), false
	}
	if out.busy >= out.Parallel || !out.limiter.AllowN(now, 1) {
		return out.turn(now), false
	}
	out.busy++
	return now, true
}

// turn returns when a waiting message may try again, not before a given time.
// Waiting messages get one turn each, one after the other, up to longestSpread
// ahead. A claim takes messages of every channel; without turns, the long queue
// of a slow channel would be written again each time another channel has room.
func (out *outlet) turn(from time.Time) time.Time {
	slot := time.Second / time.Duration(out.Parallel)
	if limit := out.limiter.Limit(); limit != rate.Inf {
		slot = time.Duration(float64(time.Second) / float64(limit))
	}
	last := out.putOff
	if last.Before(from) || last.After(from.Add(longestSpread)) {
		last = from
	}
	out.putOff = last.Add(max(slot, shortestWait))
	return out.putOff
}

// done ends a message that take started.
func (out *outlet) done() {
	out.mu.Lock()
	defer out.mu.Unlock()
	out.busy--
}

// took notes that the carrier answers.
func (out *outlet) took() {
	out.mu.Lock()
	defer out.mu.Unlock()
	out.failures = 0
}

// failed notes a fault of the carrier. It pauses the outlet when the carrier asks
// for a pause, or cannot be reached several times in a row. A dead carrier then
// costs one attempt from time to time instead of one for each message.
func (out *outlet) failed(now time.Time, slow bool, asked time.Duration) {
	out.mu.Lock()
	defer out.mu.Unlock()
	out.failures++
	pause := time.Duration(0)
	if slow {
		pause = max(asked, time.Second)
	}
	if over := out.failures - failuresToPause; over >= 0 {
		pause = max(pause, min(firstPause<<min(over/failuresToPause, 10), longestPause))
	}
	if until := now.Add(pause); until.After(out.paused) || out.setBack(now) {
		out.pausedAt, out.paused = now, until
	}
}

// reaches reports whether the channel sends to the number.
func (out *outlet) reaches(p session.Phone) bool { return out.Reaches == nil || out.Reaches(p) }

// segments is what a text costs, at least 1.
func (out *outlet) segments(text string) int {
	if out.Segments == nil {
		return 1
	}
	return max(1, out.Segments(text))
}

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
