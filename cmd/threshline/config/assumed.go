package config

import (
	"fmt"
	"slices"
	"strings"

	"threshline/advice"
)

// Assumed are a programme's own figures where nobody published one.
type Assumed struct {
	WorthSteps     float64 `toml:"worth_steps"`
	WorthPercent   float64 `toml:"worth_percent"`
	WorthMeasuring float64 `toml:"worth_measuring"`
	MostInSun      float64 `toml:"most_in_sun_kg"`
}

// Work is how many hours of work a remedy takes.
type Work struct {
	Remedy   string  `toml:"remedy"`
	PerLot   float64 `toml:"per_lot"`
	PerTonne float64 `toml:"per_tonne"`
}

// own puts the programme's own figures into the settings.
func (c *Config) own(s *advice.Settings) error {
	a := c.Assumed
	if slices.Min([]float64{a.WorthSteps, a.WorthPercent, a.WorthMeasuring, a.MostInSun}) < 0 {
		return fmt.Errorf("[assumed] a number is below zero")
	}
	s.Own = advice.Own{WorthSteps: a.WorthSteps, WorthShare: a.WorthPercent / 100, WorthMeasuring: a.WorthMeasuring, MostInSun: a.MostInSun}
	for _, row := range c.Work {
		id := advice.RemedyID(row.Remedy)
		switch rem := advice.RemedyOf(id); {
		case rem == nil || rem.Work == advice.Work{}:
			return &fault{
				fmt.Errorf("[[work]] remedy = %q: no work is counted for that", row.Remedy),
				"work is counted for " + strings.Join(worked(), ", "),
			}
		case row.PerLot < 0 || row.PerTonne < 0 || row.PerLot+row.PerTonne == 0:
			return fmt.Errorf("[[work]] %s: want hours over zero", row.Remedy)
		}
		if _, twice := s.Own.Work[id]; twice {
			return fmt.Errorf("[[work]] %s is given twice", row.Remedy)
		}
		if s.Own.Work == nil {
			s.Own.Work = map[advice.RemedyID]advice.Work{}
		}
		s.Own.Work[id] = advice.Work{Fixed: row.PerLot, PerTonne: row.PerTonne}
	}
	return nil
}

// worked lists the remedies for which work is counted.
func worked() (ids []string) {
	for _, r := range advice.Remedies() {
		if (r.Work != advice.Work{}) {
			ids = append(ids, string(r.ID))
		}
	}
	return ids
}
