package config

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"threshline/advice"
	"threshline/grading"
)

// Tariff is what a machine of others costs, or what has to be bought for a
// remedy, in some districts or, without any, everywhere.
type Tariff struct {
	Remedy    string   `toml:"remedy"`
	PerTonne  float64  `toml:"per_tonne"`
	PerLot    float64  `toml:"per_lot"`
	TonnesDay float64  `toml:"tonnes_per_day"`
	Districts []string `toml:"districts"`
}

// tariffs puts the tariffs into the settings.
func (c *Config) tariffs(s *advice.Settings) (err error) {
	for _, row := range c.Tariffs {
		t, e := row.tariff()
		err = errors.Join(err, e)
		id := advice.RemedyID(row.Remedy)
		if len(row.Districts) == 0 {
			if s.Tariffs == nil {
				s.Tariffs = map[advice.RemedyID]advice.Tariff{}
			}
			s.Tariffs[id] = t
		}
		for _, district := range row.Districts {
			if s.Local == nil {
				s.Local = map[string]map[advice.RemedyID]advice.Tariff{}
			}
			if s.Local[district] == nil {
				s.Local[district] = map[advice.RemedyID]advice.Tariff{}
			}
			s.Local[district][id] = t
		}
	}
	return err
}

func (row *Tariff) tariff() (t advice.Tariff, err error) {
	tonne, e1 := amount(row.PerTonne)
	lot, e2 := amount(row.PerLot)
	day, e3 := amount(row.TonnesDay)
	if err = errors.Join(e1, e2, e3); err == nil && tonne%1000 != 0 {
		err = fmt.Errorf("[[tariff]] %s: per_tonne = %s has more than one decimal", row.Remedy, tonne)
	}
	return advice.Tariff{Fixed: lot, PerKG: tonne / 1000, PerDay: 1000 * day}, err
}

// checkMoney refuses impossible tariffs and seed prices.
func (c *Config) checkMoney() error {
	paid := paidRemedies()
	seen := map[string]bool{}
	for _, row := range c.Tariffs {
		if !slices.Contains(paid, row.Remedy) {
			return &fault{
				fmt.Errorf("[[tariff]] remedy = %q: nothing is paid for that", row.Remedy),
				"there are tariffs for " + strings.Join(paid, ", "),
			}
		}
		if row.PerTonne < 0 || row.PerLot < 0 || row.TonnesDay < 0 {
			return fmt.Errorf("[[tariff]] %s: a number is below zero", row.Remedy)
		}
		where := row.Districts
		if len(where) == 0 {
			where = []string{""}
		}
		for _, district := range where {
			if district != "" && !slices.Contains(c.Programme.Districts, district) {
				return &fault{
					fmt.Errorf("[[tariff]] %s: there is no district %q", row.Remedy, district),
					"the programme has " + strings.Join(c.Programme.Districts, ", "),
				}
			}
			if key := row.Remedy + "\n" + district; seen[key] {
				return fmt.Errorf("[[tariff]] %s is given twice for the same place", row.Remedy)
			} else {
				seen[key] = true
			}
		}
	}
	if err := c.own(&advice.Settings{}); err != nil {
		return err
	}
	m := c.Money
	if set := []float64{m.SeedPrice, m.SeedPerHa, m.YieldPerHa}; slices.Max(set) != 0 || slices.Min(set) != 0 {
		if slices.Min(set) <= 0 {
			return errors.New("[money] seed_price, seed_kg_per_ha and yield_t_per_ha go together, each over zero")
		}
	}
	return nil
}

// paidRemedies are those that a tariff can be given for.
func paidRemedies() (ids []string) {
	for _, r := range advice.Remedies() {
		if r.Paid && !r.Sown && r.PaidAs == "" {
			ids = append(ids, string(r.ID))
		}
	}
	return ids
}

// Unpriced lists for `verify` what has a price and what has none, so that nobody
// is surprised when an answer leaves it out.
func (c *Config) Unpriced() (lines []string) {
	s, err := c.Settings()
	if err != nil {
		return nil
	}
	var without []string
	for _, id := range paidRemedies() {
		_, ok := s.Tariffs[advice.RemedyID(id)]
		for _, local := range s.Local {
			_, there := local[advice.RemedyID(id)]
			ok = ok || there
		}
		if !ok {
			without = append(without, id)
		}
	}
	if _, ok := s.Seed.For(grading.One); !ok {
		without = append(without, string(advice.BetterSeed))
	}
	if len(without) > 0 {
		lines = append(lines, "price not known: "+strings.Join(without, ", ")+" (see [[tariff]] and seed_price)")
	}
	return lines
}
