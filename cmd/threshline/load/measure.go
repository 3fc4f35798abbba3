package load

import (
	"context"
	"slices"
	"time"

	"threshline/gateway/carrier"
)

// part is one thing under measurement with the phones that talk to it.
type part struct {
	what  string
	child *child // nil for a gateway elsewhere
	crew  *Crew

	took  []time.Duration
	spent time.Duration
	used  Usage // while it went as fast as it could
	half  []time.Duration
}

// A new phone sends so many entries before anything is measured: its welcome, and
// then a check, over which is seen what an exchange puts.
const (
	welcome = 6
	aCheck  = 12
)

func newPart(what string, c *child, base string, channel carrier.Config, phones int) *part {
	return &part{what: what, child: c, crew: NewCrew(base, channel, phones)}
}

// warm brings every phone to work, and gives what an exchange put meanwhile.
func (p *part) warm(ctx context.Context) (put int, err error) {
	if _, err = p.crew.entries(ctx, welcome); err != nil {
		return 0, err
	}
	before, err := p.child.used()
	if err != nil {
		return 0, err
	}
	took, err := p.crew.entries(ctx, aCheck)
	if err != nil {
		return 0, err
	}
	after, err := p.child.used()
	return int(after.Put-before.Put) / max(1, len(took)), err
}

// turn goes as fast as it can for a while.
func (p *part) turn(ctx context.Context, span time.Duration) error {
	before, err := p.child.used()
	if err != nil {
		return err
	}
	begin := time.Now()
	took, err := p.crew.flatOut(ctx, span)
	if err != nil {
		return err
	}
	p.spent += time.Since(begin)
	p.took = append(p.took, took...)
	after, err := p.child.used()
	p.used.CPU += after.CPU - before.CPU
	p.used.Put += after.Put - before.Put
	p.used.Disk += after.Disk - before.Disk
	p.used.Trips += after.Trips - before.Trips
	p.used.Own = max(p.used.Own, after.Own)
	return err
}

func (p *part) rate() float64 { return float64(len(p.took)) / p.spent.Seconds() }

// atHalf sends at half the speed that was reached.
func (p *part) atHalf(ctx context.Context, span time.Duration) (err error) {
	p.half, err = p.crew.paced(ctx, span, p.rate()/2)
	return err
}

// Measured is what one part came to with so many phones. Its name is how it
// stands in the answer as JSON.
type Measured struct {
	Phones int       `json:"phones"`
	What   string    `json:"what"`
	Rate   float64   `json:"exchanges_per_second"`
	P50    float64   `json:"p50_ms"`
	P99    float64   `json:"p99_ms"`
	Half50 float64   `json:"half_load_p50_ms"` // times at half load count from when a message was due
	Half99 float64   `json:"half_load_p99_ms"`
	CPU    float64   `json:"cpu_us"` // of the part alone, an exchange
	Put    float64   `json:"put_bytes"`
	Disk   float64   `json:"disk_bytes"`
	Own    float64   `json:"own_mib"` // most memory of its own
	Checks int       `json:"checks"`
	Trips  float64   `json:"round_trips,omitempty"` // to the database, an exchange
	Export *Exported `json:"export,omitempty"`
	// As shares of what the same run measured beside it; 0 where there is none.
	OfSmall float64 `json:"of_bare_small,omitempty"`
	OfEqual float64 `json:"of_bare_equal,omitempty"`
	OfFresh float64 `json:"of_fresh,omitempty"`
}

func (p *part) measured() Measured {
	n := float64(max(1, len(p.took)))
	m := Measured{
		Phones: len(p.crew.phones), What: p.what, Rate: p.rate(), CPU: p.used.CPU * 1e6 / n,
		Put: float64(p.used.Put) / n, Disk: float64(p.used.Disk) / n, Own: float64(p.used.Own) / (1 << 20),
		Trips: float64(p.used.Trips) / n,
	}
	m.P50, m.P99 = quantiles(p.took)
	m.Half50, m.Half99 = quantiles(p.half)
	for _, l := range p.crew.phones {
		m.Checks += l.checks
	}
	return m
}

// quantiles gives the median and the 99th percentile, in milliseconds.
func quantiles(took []time.Duration) (p50, p99 float64) {
	if len(took) == 0 {
		return 0, 0
	}
	slices.Sort(took)
	ms := func(i int) float64 { return float64(took[i].Microseconds()) / 1000 }
	return ms(len(took) / 2), ms(len(took) * 99 / 100)
}
