package desk

import (
	"context"
	"time"

	"threshline/session"
)

// accountBatch is how many accounts are read at once.
const accountBatch = 500

// accounts lists every account record.
func (d *Desk) accounts(ctx context.Context) (all []session.Account, err error) {
	after := session.AccountID("")
	for {
		page, err := d.cfg.Accounts.Accounts(ctx, after, accountBatch)
		if err != nil {
			return nil, err
		}
		all = append(all, page...)
		if len(page) < accountBatch {
			return all, nil
		}
		after = page[len(page)-1].ID
	}
}

// kept lists the records of which keep says so.
func (d *Desk) kept(ctx context.Context, keep func(*session.Account) bool) (list []session.Account, err error) {
	all, err := d.accounts(ctx)
	for i := range all {
		if keep(&all[i]) {
			list = append(list, all[i])
		}
	}
	return list, err
}

// people lists those who can sign in.
func (d *Desk) people(ctx context.Context) ([]session.Account, error) {
	return d.kept(ctx, func(a *session.Account) bool { return a.Kind == session.DeskPerson })
}

// stale lists the sign-ins and links that are over, marked for removal.
func (d *Desk) stale(ctx context.Context, now time.Time) ([]session.Account, error) {
	return d.removed(ctx, func(a *session.Account) bool {
		return (a.Kind == session.DeskSignIn || a.Kind == session.DeskLink) && !a.Usable(now)
	})
}

// signInsOf lists somebody's sign-ins, marked for removal.
func (d *Desk) signInsOf(ctx context.Context, id session.AccountID) ([]session.Account, error) {
	return d.removed(ctx, func(a *session.Account) bool { return a.Kind == session.DeskSignIn && a.Of == id })
}

// linksOf lists the links by which a person may choose a new password, marked for
// removal: each holds the role of the time when it was made.
func (d *Desk) linksOf(ctx context.Context, a *session.Account) ([]session.Account, error) {
	if a.Kind != session.DeskPerson {
		return nil, nil
	}
	return d.removed(ctx, func(l *session.Account) bool {
		return l.Kind == session.DeskLink && l.Name != "" && personID(l.Name) == a.ID
	})
}

// waysIn lists all by which somebody whose account ends could still come in,
// marked for removal.
func (d *Desk) waysIn(ctx context.Context, a *session.Account) ([]session.Account, error) {
	signIns, err := d.signInsOf(ctx, a.ID)
	if err != nil {
		return nil, err
	}
	links, err := d.linksOf(ctx, a)
	return append(signIns, links...), err
}

func (d *Desk) removed(ctx context.Context, which func(*session.Account) bool) ([]session.Account, error) {
	list, err := d.kept(ctx, which)
	for i := range list {
		list[i].Remove = true
	}
	return list, err
}
