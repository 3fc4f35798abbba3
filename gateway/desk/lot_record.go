package desk

import (
	"context"

	"threshline/session"
)

// lotRecord is what the page of a lot is made of: a check, what else was checked
// of its grower, newest first, and the check before where it is a re-check; with
// what their reporters measure with.
type lotRecord struct {
	check, before  session.Check
	past           []session.Check
	kit, kitBefore session.Kit
	hasBefore      bool
	unsound        string // why a pooled check's grade holds no more; "" while it does
}

func (d *lotDesk) readLot(ctx context.Context, slip session.Slip) (l lotRecord, err error) {
	err = d.records.Read(ctx, func(view session.View) (err error) {
		l = lotRecord{}
		if l.check, err = view.Check(slip); err != nil {
			return err
		}
		if l.check.Lot.Grower != "" {
			if l.past, err = view.ChecksOf(l.check.Lot.Grower, perPage); err != nil {
				return err
			}
		}
		reporter, err := known(view, l.check.Reporter)
		if err != nil {
			return err
		}
		l.kit = reporter.Kit
		if l.unsound, err = unsound(view, &l.check); err != nil {
			return err
		}
		l.before, l.kitBefore, l.hasBefore, err = before(view, &l.check)
		return err
	})
	return l, err
}
