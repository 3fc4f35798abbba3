package config

import (
	"fmt"
	"math"
	"strings"
	"time"

	"threshline/grading"
	"threshline/session/programme"
)

// meterProblems lists what is wrong with the meters of a configuration.
func (c *Config) meterProblems() (problems []error) {
	want := func(ok bool, format string, args ...any) {
		if !ok {
			problems = append(problems, fmt.Errorf(format, args...))
		}
	}
	most, mostDoubt := grading.MostBias.Float(), programme.MostDoubt.Float()
	seen := map[string]bool{}
	for _, m := range c.Meters {
		name := strings.ToLower(m.Name)
		want(m.Name != "" && len(m.Name) <= programme.LongestMeter && !seen[name], "[[meter]] name %q: want a name of its own for each, of %d letters at most", m.Name, programme.LongestMeter)
		seen[name] = true
		want(math.Abs(m.Bias) <= most, "[[meter]] %s bias is %v: want points above the oven, %v at most either way", m.Name, m.Bias, most)
		want(m.Doubt >= 0 && m.Doubt <= mostDoubt, "[[meter]] %s doubt is %v: want points, 0 to %v", m.Name, m.Doubt, mostDoubt)
		for key, day := range map[string]string{"checked_on": m.CheckedOn, "good_until": m.GoodUntil} {
			_, err := time.Parse(time.DateOnly, day)
			want(day == "" || err == nil, "[[meter]] %s %s is %q: want a day such as \"2026-10-01\"", m.Name, key, day)
		}
		want(m.GoodUntil == "" || m.CheckedOn <= m.GoodUntil, "[[meter]] %s is good until before it was checked", m.Name)
	}
	p := c.Programme
	want(p.MeterBias == nil || math.Abs(*p.MeterBias) <= most, "[programme] meter_bias: want points above the oven, %v at most either way", most)
	want(p.MeterDoubt >= 0 && p.MeterDoubt <= mostDoubt, "[programme] meter_doubt is %v: want points, 0 to %v", p.MeterDoubt, mostDoubt)
	want(p.MeterStep >= 0 && p.MeterStep <= 1, "[programme] meter_step is %v: want points, 0 to 1", p.MeterStep)
	return problems
}

// meterNames lists the meters of a configuration.
func (c *Config) meterNames() (names []string) {
	for _, m := range c.Meters {
		names = append(names, m.Name)
	}
	return names
}

// SetMeters puts the meters of a configuration into a programme.
func (c *Config) SetMeters(p *programme.Programme) error {
	checked := func(name string, bias, doubt float64, usual grading.Decimal) (grading.Meter, error) {
		m := grading.Meter{Name: name, Doubt: usual, Checked: true}
		var err error
		if m.Bias, err = amount(bias); err == nil && doubt > 0 {
			m.Doubt, err = amount(doubt)
		}
		return m, err
	}
	for _, m := range c.Meters {
		meter, err := checked(m.Name, m.Bias, m.Doubt, programme.MeterDoubt)
		if err != nil {
			return fmt.Errorf("[[meter]] %s: %w", m.Name, err)
		}
		p.Meters = append(p.Meters, programme.Meter{Meter: meter, CheckedOn: m.CheckedOn, GoodUntil: m.GoodUntil})
	}
	if bias := c.Programme.MeterBias; bias != nil {
		var err error
		if p.OneMeter, err = checked("", *bias, c.Programme.MeterDoubt, programme.OneKindDoubt); err != nil {
			return fmt.Errorf("[programme] meter_bias: %w", err)
		}
	}
	return nil
}
