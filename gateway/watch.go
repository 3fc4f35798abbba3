package gateway

import (
	"time"

	"github.com/rs/zerolog"

	"threshline/session"
)

// Watch reports to the metrics and the log what the outgoing worker does. It is
// the worker's dispatch.Watcher.
type Watch struct {
	Metrics *Metrics
	Log     zerolog.Logger
	// PerSegment is what a segment costs by channel, in the programme's currency.
	PerSegment map[string]float64
	Now        func() time.Time
}

// Settled counts a change of state. The log has the message's id, never its
// number or text.
func (w *Watch) Settled(o session.Outgoing) {
	m := w.Metrics
	m.outgoing.WithLabelValues(o.Channel, purposeLabel(o.Purpose), string(o.State)).Inc()
	level := zerolog.DebugLevel
	switch o.State {
	case session.HandedOn:
		m.segments.WithLabelValues(o.Channel).Add(float64(o.Segments))
		m.cost.WithLabelValues(o.Channel).Add(float64(o.Segments) * w.PerSegment[o.Channel])
		m.waited.Observe(max(0, w.Now().Sub(o.Created).Seconds()))
	case session.Dead, session.Refused:
		level = zerolog.WarnLevel
	}
	w.Log.WithLevel(level).Str("outgoing", string(o.ID)).Str("channel", o.Channel).Str("purpose", string(o.Purpose)).
		Str("state", string(o.State)).Int("attempts", o.Attempts).Str("problem", o.Problem).Msg("outgoing message")
}

// Spent warns about a part of a channel's daily limit.
func (w *Watch) Spent(channel string, part session.Part, spent, limit float64) {
	w.Metrics.spent.WithLabelValues(channel, string(part)).Set(spent / limit)
	w.Log.Warn().Str("channel", channel).Str("part", string(part)).Float64("spent", spent).Float64("limit", limit).
		Msg("the day's money for outgoing messages is running out; answers that carry a stop still go")
}

// Failed reports work that will be done again.
func (w *Watch) Failed(doing string, err error) {
	w.Metrics.faults.WithLabelValues(doing).Inc()
	w.Log.Error().Str("doing", doing).Str("cause", masked(err.Error())).Msg("failed, will be done again")
}
