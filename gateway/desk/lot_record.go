package desk

import (
	"context"
	"errors"

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

func (d *Desk) readLot(ctx context.Context, slip session.Slip) (l lotRecord, err error) {
	err = d.cfg.Records.Read(ctx, func(view session.View) (err error) {
		l = lotRecord{}
		if l.check, err = view.Check(slip); err != nil {
			return err
		}
		if l.check.Lot.Grower != "" {
			if l.past, err = view.ChecksOf(l.check.Lot.Grower, perPage); err != nil {
				return err
			}
		}
		if l.kit, err = kitOf(view, l.check.Reporter); err != nil {
			return err
		}
		if l.unsound, err = unsound(view, &l.check); err != nil {
			return err
		}
		l.before, l.kitBefore, l.hasBefore, err = before(view, &l.check)
		return err
	})
	return l, err
}

// kitOf returns a person's kit; the zero Kit for an unknown person.
func kitOf(view session.View, id session.PersonID) (session.Kit, error) {
	p, err := view.Person(id)
	if errors.Is(err, session.ErrNotFound) {
		return session.Kit{}, nil
	}
	return p.Kit, err
}
