package access

import (
	"context"
	"errors"
	"strings"

	"threshline/gateway/desk/paper"
	"threshline/session"
)

// Machine is a person at the machine that the gateway runs on, who can open its
// files anyway. What they make has no maker, so it does not end with an
// account.
var Machine = &Visitor{Account: session.Account{Role: session.DeskAdministrator, Name: "at the machine"}}

// Readmit makes the one-time link by which an administrator comes back who has
// lost the password or the second factor: both are chosen anew. Without a name
// it is for a new administrator. The error is a *paper.InputError for a name of
// no administrator.
func (reg *Register) Readmit(ctx context.Context, name string) (path string, err error) {
	if name == "" {
		return reg.Invite(ctx, Machine, session.DeskAdministrator, nil)
	}
	a, err := reg.usable(ctx, personID(name))
	switch {
	case err != nil:
		return "", err
	case a == nil || a.Role != session.DeskAdministrator:
		return "", paper.Wrong("There is no administrator of the name " + name + ". Without a name, the link is for a new one.")
	}
	link, path, err := reg.newLink(session.Account{Role: a.Role, Name: a.Name, Scopes: []string{withoutFactor}})
	if err != nil {
		return "", err
	}
	return path, reg.Log(ctx, Machine, "made a link for a new password, without the second factor", string(a.ID), link)
}

// Wrongly is the sentence of an error that says what was wrong with a wish.
func Wrongly(err error) (problem string, ok bool) {
	if wrong, ok := errors.AsType[*paper.InputError](err); ok {
		return strings.TrimSpace(wrong.Problem), true
	}
	return "", false
}
