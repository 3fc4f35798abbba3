package gateway

import (
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"threshline/session"
)

// Metrics are what an operator watches. Label values are bounded: configured
// channels, and kinds and outcomes from closed lists; never a number or a text.
// One Metrics outlives a reload of the configuration.
type Metrics struct {
	registry  *prometheus.Registry
	exchanges *prometheus.CounterVec
	latency   *prometheus.HistogramVec
	refusals  *prometheus.CounterVec
	reruns    *prometheus.CounterVec
	outgoing  *prometheus.CounterVec
	segments  *prometheus.CounterVec
	spent     *prometheus.GaugeVec
	cost      *prometheus.CounterVec
	waited    prometheus.Histogram
	queueAge  prometheus.Gauge
	faults    *prometheus.CounterVec
	panics    prometheus.Counter
	entries   *prometheus.CounterVec
	sound     prometheus.Gauge
	clock     prometheus.Gauge
}

// latencyBuckets reach from a tenth of a millisecond to the time after which a
// USSD network stops waiting for us, in seconds.
var latencyBuckets = []float64{.0001, .00025, .0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10}

// waitBuckets reach from at once to a day, in seconds.
var waitBuckets = []float64{.1, .5, 1, 5, 15, 60, 300, 1800, 3600, 4 * 3600, 24 * 3600}

// NewMetrics makes the metrics and a registry that holds them.
func NewMetrics() *Metrics {
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "threshline", Name: name, Help: help}, labels)
	}
	m := &Metrics{
		registry:  prometheus.NewRegistry(),
		exchanges: counter("exchanges_total", "Inbound messages answered, by outcome.", "channel", "kind", "outcome"),
		latency: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Namespace: "threshline", Name: "exchange_seconds", Buckets: latencyBuckets,
			Help: "Time from the whole request read to the reply stored.",
		}, []string{"channel", "kind"}),
		refusals: counter("refusals_total", "Requests not taken, by reason.", "channel", "reason"),
		reruns:   counter("turn_reruns_total", "Turns run again because another exchange came first.", "channel"),
		outgoing: counter("outgoing_total", "Changes of state of outgoing messages.", "channel", "purpose", "state"),
		segments: counter("segments_total", "Segments handed to carriers.", "channel"),
		spent: prometheus.NewGaugeVec(prometheus.GaugeOpts{
			Namespace: "threshline", Name: "daily_limit_share",
			Help: "Share of a part of the day's money that was spent when it last passed a warning mark.",
		}, []string{"channel", "part"}),
		cost: counter("cost_total", "What segments handed to carriers cost, in the programme's currency.", "channel"),
		waited: prometheus.NewHistogram(prometheus.HistogramOpts{
			Namespace: "threshline", Name: "outgoing_wait_seconds", Buckets: waitBuckets,
			Help: "Time from the making of a message to the carrier's taking it.",
		}),
		queueAge: prometheus.NewGauge(prometheus.GaugeOpts{
			Namespace: "threshline", Name: "queue_age_seconds",
			Help: "How long the first message of the outgoing queue has been due.",
		}),
		entries: counter("desk_entries_total", "Attempts to come in at the desk, by a password or a token, and what came of them.", "by", "outcome"),
		faults:  counter("faults_total", "Work of our own that failed and will be done again.", "doing"),
		panics: prometheus.NewCounter(prometheus.CounterOpts{
			Namespace: "threshline", Name: "panics_total", Help: "Requests that ended in a panic.",
		}),
		sound: prometheus.NewGauge(prometheus.GaugeOpts{
			Namespace: "threshline", Name: "store_sound",
			Help: "Whether the whole store was read since the start and found sound: 1, or 0 until it is, or -1 when it is damaged.",
		}),
		clock: prometheus.NewGauge(prometheus.GaugeOpts{
			Namespace: "threshline", Name: "clock_believed",
			Help: "Whether the machine's clock is believed: 1, or 0 after a jump ahead that was not confirmed.",
		}),
	}
	m.registry.MustRegister(m.exchanges, m.latency, m.refusals, m.reruns, m.outgoing, m.segments, m.cost,
		m.waited, m.spent, m.queueAge, m.faults, m.panics, m.entries, m.sound, m.clock)
	return m
}

// Registry is where the process may register more, such as its own figures.
func (m *Metrics) Registry() *prometheus.Registry { return m.registry }

// QueueAge sets how long the first outgoing message has been due.
func (m *Metrics) QueueAge(age time.Duration) { m.queueAge.Set(age.Seconds()) }

// StoreRead notes that the whole store was read, and whether it is sound.
func (m *Metrics) StoreRead(sound bool) {
	if sound {
		m.sound.Set(1)
	} else {
		m.sound.Set(-1)
	}
}

// ClockBelieved notes whether the clock is believed.
func (m *Metrics) ClockBelieved(yes bool) {
	if yes {
		m.clock.Set(1)
	} else {
		m.clock.Set(0)
	}
}

// Entry counts an attempt to sign in at the desk.
func (m *Metrics) Entry(by, outcome string) { m.entries.WithLabelValues(by, outcome).Inc() }

// handler serves the figures.
func (m *Metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}

// purposeLabel keeps the label bounded whatever a stored message says.
func purposeLabel(p session.Purpose) string {
	switch p {
	case session.Answer, session.Greeting, session.Further, session.Safety, session.Reminding, session.Digest, session.Alert, session.Alerts:
		return string(p)
	}
	return "other"
}

// channelMetrics are one channel's figures, looked up once.
type channelMetrics struct {
	answered, duplicate, silent, failed prometheus.Counter
	seconds                             prometheus.Observer
	reruns                              prometheus.Counter
}

func (m *Metrics) of(c Inlet) channelMetrics {
	kind := string(c.Kind)
	return channelMetrics{
		answered:  m.exchanges.WithLabelValues(c.Name, kind, "answered"),
		duplicate: m.exchanges.WithLabelValues(c.Name, kind, "duplicate"),
		silent:    m.exchanges.WithLabelValues(c.Name, kind, "silent"),
		failed:    m.exchanges.WithLabelValues(c.Name, kind, "failed"),
		seconds:   m.latency.WithLabelValues(c.Name, kind),
		reruns:    m.reruns.WithLabelValues(c.Name),
	}
}

// count notes what became of one message.
func (c channelMetrics) count(out session.Outcome, err error, took time.Duration) {
	switch {
	case err != nil:
		c.failed.Inc()
		return
	case out.Duplicate:
		c.duplicate.Inc()
	case out.Reply.Silent:
		c.silent.Inc()
	default:
		c.answered.Inc()
	}
	c.seconds.Observe(took.Seconds())
	if out.Runs > 1 {
		c.reruns.Add(float64(out.Runs - 1))
	}
}
