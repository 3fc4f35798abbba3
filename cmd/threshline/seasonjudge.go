package main

import (
	"fmt"

	"threshline/session"
)

// judgeInto grades an invented check as the dialogue would have.
func judgeInto(c *session.Check, p *session.Programme) error {
	judged, err := p.Judge(c.Lot, c.Readings, session.Kit{}, c.At, nil)
	if err != nil {
		return fmt.Errorf("invented check %s: %w", c.Slip, err)
	}
	judged.Record(c, p.Standard)
	return nil
}
