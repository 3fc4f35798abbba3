package desk

import (
	"context"

	"threshline/gateway/desk/access"
	"threshline/session"
)

// mostListed bounds how many sign-ins are remembered in listed.
const mostListed = 1000

// seenInFilter notes in the audit log whose names the filter of a page shows: a
// person chosen in it each time; the agents in its list once for each sign-in,
// or every page would write them again.
func (d *chooser) seenInFilter(ctx context.Context, v *access.Visitor, c *chosen, f *filterForm) error {
	for _, id := range []session.PersonID{c.Agent, c.Grower} {
		if id != "" && d.nameOf(v, id) != string(id) {
			if err := d.seen(ctx, v, "the name of somebody in a filter", string(id)); err != nil {
				return err
			}
		}
	}
	if !f.named() {
		return nil
	}
	d.listing.Lock()
	known := d.listed[v.SignIn]
	d.listing.Unlock()
	if known {
		return nil
	}
	if err := d.seen(ctx, v, "the names of agents to choose from", ""); err != nil {
		return err
	}
	d.listing.Lock()
	defer d.listing.Unlock()
	if len(d.listed) >= mostListed {
		clear(d.listed)
	}
	d.listed[v.SignIn] = true
	return nil
}

// seen writes down that a visitor read personal data, before it is shown.
func (d *front) seen(ctx context.Context, v *access.Visitor, what, subject string) error {
	return d.guard.Log(ctx, v, "read "+what, subject)
}
