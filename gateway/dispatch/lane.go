package dispatch

import (
	"sync"
	"time"

	"golang.org/x/time/rate"

	"threshline/session"
)

// Channel is one way out.
type Channel struct {
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

// lane is a channel at work.
type lane struct {
	Channel
	budgets map[session.Part]*budget

	mu       sync.Mutex
	limiter  *rate.Limiter
	busy     int       // messages claimed and not yet settled
	failures int       // in a row
	paused   time.Time // nothing is handed on before
	putOff   time.Time // the turn of the message put off last
}

func newLane(c Channel, zone *time.Location) *lane {
	if c.Parallel <= 0 {
		c.Parallel = 4
	}
	limit := rate.Inf
	if c.PerSecond > 0 {
		limit = rate.Limit(c.PerSecond)
	}
	l := &lane{Channel: c, limiter: rate.NewLimiter(limit, max(1, int(c.PerSecond))), budgets: map[session.Part]*budget{}}
	for _, part := range session.Parts() {
		l.budgets[part] = &budget{zone: zone, perSegment: c.PerSegment, limit: l.limit(part)}
	}
	return l
}

// limit is what a part of the day may cost; 0 is without limit.
func (l *lane) limit(part session.Part) float64 { return l.DailyLimit * part.Share() }

// room is how many messages the lane can start at now.
func (l *lane) room(now time.Time) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	if now.Before(l.paused) {
		return 0
	}
	room := l.Parallel - l.busy
	if l.limiter.Limit() != rate.Inf {
		room = min(room, int(l.limiter.TokensAt(now)))
	}
	return max(0, room)
}

// take starts one message, or returns until when it has to wait.
func (l *lane) take(now time.Time) (wait time.Time, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if now.Before(l.paused) {
		return l.turn(l.paused), false
	}
	if l.busy >= l.Parallel || !l.limiter.AllowN(now, 1) {
		return l.turn(now), false
	}
	l.busy++
	return now, true
}

// turn returns when a waiting message may try again, not before a given time.
// Waiting messages get one turn each, one after the other, up to longestSpread
// ahead. A claim takes messages of every channel; without turns, the long queue
// of a slow channel would be written again each time another channel has room.
func (l *lane) turn(from time.Time) time.Time {
	slot := time.Second / time.Duration(l.Parallel)
	if limit := l.limiter.Limit(); limit != rate.Inf {
		slot = time.Duration(float64(time.Second) / float64(limit))
	}
	last := l.putOff
	if last.Before(from) || last.After(from.Add(longestSpread)) {
		last = from
	}
	l.putOff = last.Add(max(slot, shortestWait))
	return l.putOff
}

// done ends a message that take started.
func (l *lane) done() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.busy--
}

// took notes that the carrier answers.
func (l *lane) took() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.failures = 0
}

// failed notes a fault of the carrier. It pauses the lane when the carrier asks
// for a pause, or cannot be reached several times in a row. A dead carrier then
// costs one attempt from time to time instead of one for each message.
func (l *lane) failed(now time.Time, slow bool, asked time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.failures++
	pause := time.Duration(0)
	if slow {
		pause = max(asked, time.Second)
	}
	if over := l.failures - failuresToPause; over >= 0 {
		pause = max(pause, min(firstPause<<min(over/failuresToPause, 10), longestPause))
	}
	if until := now.Add(pause); until.After(l.paused) {
		l.paused = until
	}
}

// reaches reports whether the channel sends to the number.
func (l *lane) reaches(p session.Phone) bool { return l.Reaches == nil || l.Reaches(p) }

// segments is what a text costs, at least 1.
func (l *lane) segments(text string) int {
	if l.Segments == nil {
		return 1
	}
	return max(1, l.Segments(text))
}
