package access

import (
	"context"
	"errors"
	"slices"
	"strings"

	"threshline/gateway/desk/paper"
	"threshline/session"
)

// ErrLastAdministrator: without this account nobody could let others in.
var ErrLastAdministrator = errors.New("access: the last administrator")

// Invite makes a one-time link for somebody new, as a path.
func (reg *Register) Invite(ctx context.Context, v *Visitor, role session.DeskRole, districts []string) (string, error) {
	link, path, err := reg.newLink(session.Account{Role: role, Districts: districts, Of: v.Account.ID})
	if err != nil {
		return "", err
	}
	return path, reg.Log(ctx, v, "made a one-time link for a "+string(role), paper.List(districts), link)
}

// PasswordLink makes a one-time link by which a person chooses a new password, as
// a path.
func (reg *Register) PasswordLink(ctx context.Context, v *Visitor, a *session.Account) (string, error) {
	link, path, err := reg.newLink(session.Account{Role: a.Role, Districts: a.Districts, Of: v.Account.ID, Name: a.Name})
	if err != nil {
		return "", err
	}
	return path, reg.Log(ctx, v, "made a link for a new password", string(a.ID), link)
}

// End ends an account at once, and with it its sign-ins and all that it made. The
// last administrator stays, or nobody could let anybody in again.
func (reg *Register) End(ctx context.Context, v *Visitor, a session.Account) error {
	last, err := reg.lastAdministrator(ctx, a.ID)
	if err != nil {
		return err
	}
	if last {
		return ErrLastAdministrator
	}
	a.Ended, a.Remove = reg.now(), a.Kind == session.DeskLink
	return reg.withdraw(ctx, v, &a, "ended a "+string(a.Kind), string(a.ID))
}

// Regrant gives a person another role and districts. Where that is less than
// before, all that the person made with the old ones ends.
func (reg *Register) Regrant(ctx context.Context, v *Visitor, a session.Account, role session.DeskRole, districts []string) error {
	last, err := reg.lastAdministrator(ctx, a.ID)
	if err != nil {
		return err
	}
	if last && role != session.DeskAdministrator {
		return ErrLastAdministrator
	}
	before := Visitor{Account: a}
	a.Role, a.Districts = role, districts
	did := strings.TrimSpace("gave the role " + string(role) + " " + paper.List(districts))
	if after := (&Visitor{Account: a}); after.May(before.Account.Role) && after.Covers(&before.Account) {
		return reg.again(func() error {
			links, err := reg.linksOf(ctx, &a)
			if err != nil {
				return err
			}
			return reg.Log(ctx, v, did, string(a.ID), append(links, a)...)
		})
	}
	return reg.withdraw(ctx, v, &a, did, string(a.ID))
}

// withdraw stores an account that lets in less than before, or nobody, and takes
// away with it what it made and the ways in that hold its old role.
func (reg *Register) withdraw(ctx context.Context, v *Visitor, a *session.Account, did, subject string) error {
	return reg.again(func() error {
		gone, err := reg.madeBy(ctx, a.ID)
		if err != nil {
			return err
		}
		said := did
		if len(gone) > 0 {
			said += ", and with it what it made: " + named(gone)
		}
		links, err := reg.linksOf(ctx, a)
		if err != nil {
			return err
		}
		for _, l := range links {
			if !slices.ContainsFunc(gone, func(b session.Account) bool { return b.ID == l.ID }) {
				gone = append(gone, l)
			}
		}
		if !a.Ended.IsZero() {
			signIns, err := reg.signInsOf(ctx, a.ID)
			if err != nil {
				return err
			}
			gone = append(gone, signIns...)
		}
		return reg.Log(ctx, v, said, subject, append(gone, *a)...)
	})
}

// named names accounts for the audit log, which holds no secret: not the id of a
// link or of a code, which is recognised by it.
func named(list []session.Account) string {
	var names []string
	for _, a := range list {
		switch a.Kind {
		case session.DeskLink:
			names = append(names, strings.TrimSpace("a one-time link "+a.Name))
		case session.DeskCode:
			names = append(names, "a code for a new number")
		default:
			names = append(names, string(a.ID)+" "+a.Name)
		}
	}
	return paper.List(names)
}

// again repeats a change that conflicted with another one, each time from the
// current state.
func (reg *Register) again(do func() error) (err error) {
	for range 3 {
		if err = do(); !errors.Is(err, session.ErrConflict) {
			return err
		}
	}
	return err
}

// DropFactor removes the second factor of a person who lost it. At the next
// sign-in they need none, or set up another one.
func (reg *Register) DropFactor(ctx context.Context, v *Visitor, a session.Account) error {
	a.Factor, a.Recovery = "", nil
	return reg.again(func() error {
		signIns, err := reg.signInsOf(ctx, a.ID)
		if err != nil {
			return err
		}
		return reg.Log(ctx, v, "took away the second factor", string(a.ID), append(signIns, a)...)
	})
}

// lastAdministrator reports whether an account is the only administrator left.
func (reg *Register) lastAdministrator(ctx context.Context, id session.AccountID) (bool, error) {
	people, err := reg.people(ctx)
	others, is := 0, false
	for i := range people {
		if people[i].Role == session.DeskAdministrator && people[i].Usable(reg.now()) {
			if people[i].ID == id {
				is = true
			} else {
				others++
			}
		}
	}
	return is && others == 0, err
}
