package access

import (
	"context"
	"errors"
	"strings"

	"threshline/gateway/desk/paper"
	"threshline/session"
)

// ErrLastAdministrator: nobody would be left to let anybody in.
var ErrLastAdministrator = errors.New("access: the last administrator")

// UnfitRole says what is wrong with a role and districts that somebody is to be
// given; "" when nothing is. known says that the districts are the programme's.
func UnfitRole(role session.DeskRole, districts []string, known bool) string {
	switch {
	case rank(role) == 0 || !known:
		return "Choose one of the roles, and districts of the programme."
	case role == session.DeskAdministrator && len(districts) > 0:
		// Whoever gives out roles, tokens and copies of the store holds them all.
		return "An administrator has all districts. Leave the districts empty, or choose a coordinator of some."
	}
	return ""
}

// Invite makes a one-time link for somebody new, as a path.
func (g *Guard) Invite(ctx context.Context, v *Visitor, role session.DeskRole, districts []string) (string, error) {
	link, path, err := g.newLink(session.Account{Role: role, Districts: districts, Of: v.Account.ID})
	if err != nil {
		return "", err
	}
	return path, g.Log(ctx, v, "made a one-time link for a "+string(role), paper.List(districts), link)
}

// PasswordLink makes a one-time link by which a person chooses a new password, as
// a path.
func (g *Guard) PasswordLink(ctx context.Context, v *Visitor, a *session.Account) (string, error) {
	link, path, err := g.newLink(session.Account{Role: a.Role, Districts: a.Districts, Of: v.Account.ID, Name: a.Name})
	if err != nil {
		return "", err
	}
	return path, g.Log(ctx, v, "made a link for a new password", string(a.ID), link)
}

// End ends an account at once: its sign-ins with it. The last administrator
// stays, or nobody could let anybody in again.
func (g *Guard) End(ctx context.Context, v *Visitor, a session.Account) error {
	last, err := g.lastAdministrator(ctx, a.ID)
	if err != nil {
		return err
	}
	if last {
		return ErrLastAdministrator
	}
	a.Ended, a.Remove = g.cfg.Now(), a.Kind == session.DeskLink
	ways, err := g.waysIn(ctx, &a)
	if err != nil {
		return err
	}
	return g.Log(ctx, v, "ended a "+string(a.Kind), string(a.ID), append(ways, a)...)
}

// Regrant gives a person another role and districts.
func (g *Guard) Regrant(ctx context.Context, v *Visitor, a session.Account, role session.DeskRole, districts []string) error {
	last, err := g.lastAdministrator(ctx, a.ID)
	if err != nil {
		return err
	}
	if last && role != session.DeskAdministrator {
		return ErrLastAdministrator
	}
	links, err := g.linksOf(ctx, &a)
	if err != nil {
		return err
	}
	a.Role, a.Districts = role, districts
	return g.Log(ctx, v, strings.TrimSpace("gave the role "+string(role)+" "+paper.List(districts)), string(a.ID), append(links, a)...)
}

// lastAdministrator tells whether an account is the only administrator left.
func (g *Guard) lastAdministrator(ctx context.Context, id session.AccountID) (bool, error) {
	people, err := g.people(ctx)
	others, is := 0, false
	for i := range people {
		if people[i].Role == session.DeskAdministrator && people[i].Usable(g.cfg.Now()) {
			if people[i].ID == id {
				is = true
			} else {
				others++
			}
		}
	}
	return is && others == 0, err
}
