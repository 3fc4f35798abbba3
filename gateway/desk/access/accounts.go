package access

import (
	"context"
	"time"

	"threshline/session"
)

// batch is how many accounts are read at once.
const batch = 500

// Accounts lists every account record.
func (reg *Register) Accounts(ctx context.Context) (all []session.Account, err error) {
	after := session.AccountID("")
	for {
		page, err := reg.book.Accounts(ctx, after, batch)
		if err != nil {
			return nil, err
		}
		all = append(all, page...)
		if len(page) < batch {
			return all, nil
		}
		after = page[len(page)-1].ID
	}
}

// kept lists the records of which keep says so.
func (reg *Register) kept(ctx context.Context, keep func(*session.Account) bool) (list []session.Account, err error) {
	all, err := reg.Accounts(ctx)
	for i := range all {
		if keep(&all[i]) {
			list = append(list, all[i])
		}
	}
	return list, err
}

// people lists those who can sign in.
func (reg *Register) people(ctx context.Context) ([]session.Account, error) {
	return reg.kept(ctx, func(a *session.Account) bool { return a.Kind == session.DeskPerson })
}

// stale lists the sign-ins, links and codes that are over, marked for removal.
func (reg *Register) stale(ctx context.Context, now time.Time) ([]session.Account, error) {
	return reg.removed(ctx, func(a *session.Account) bool {
		return (a.Kind == session.DeskSignIn || a.Kind == session.DeskLink || a.Kind == session.DeskCode) && !a.Usable(now)
	})
}

// signInsOf lists somebody's sign-ins, marked for removal.
func (reg *Register) signInsOf(ctx context.Context, id session.AccountID) ([]session.Account, error) {
	return reg.removed(ctx, func(a *session.Account) bool { return a.Kind == session.DeskSignIn && a.Of == id })
}

// linksOf lists the links by which a person may choose a new password, marked for
// removal: each holds the role of the time when it was made.
func (reg *Register) linksOf(ctx context.Context, a *session.Account) ([]session.Account, error) {
	if a.Kind != session.DeskPerson {
		return nil, nil
	}
	return reg.removed(ctx, func(l *session.Account) bool {
		return l.Kind == session.DeskLink && l.Name != "" && personID(l.Name) == a.ID
	})
}

// madeBy lists what an account made and what that made in turn, ended as of now:
// tokens, and links and codes, which go. The people it let in are not its own.
func (reg *Register) madeBy(ctx context.Context, id session.AccountID) (made []session.Account, err error) {
	all, err := reg.kept(ctx, func(a *session.Account) bool {
		return a.Kind == session.DeskLink || a.Kind == session.DeskCode || a.Kind == session.DeskToken && a.Ended.IsZero()
	})
	for makers := []session.AccountID{id}; len(makers) > 0; makers = makers[1:] {
		for i := range all {
			if a := &all[i]; a.Of == makers[0] {
				a.Ended, a.Remove = reg.now(), a.Kind != session.DeskToken
				made, makers = append(made, *a), append(makers, a.ID)
			}
		}
	}
	return made, err
}

func (reg *Register) removed(ctx context.Context, which func(*session.Account) bool) ([]session.Account, error) {
	list, err := reg.kept(ctx, which)
	for i := range list {
		list[i].Remove = true
	}
	return list, err
}
