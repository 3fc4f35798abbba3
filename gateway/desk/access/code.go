package access

import (
	"errors"
	"strings"
	"time"

	"threshline/session"
)

// codeKind is what the id of a code's record begins with.
const codeKind = "code/"

// CodeOf is the record of a code that a visitor makes for somebody's new number. It
// is stored with the code, so that the code ends with who made it.
func CodeOf(v *Visitor, code string, now, expires time.Time) session.Account {
	return session.Account{ID: session.AccountID(codeKind + code), Kind: session.DeskCode, Of: v.Account.ID, Made: now, Expires: expires}
}

// withCodes makes the codes useless whose records go.
func withCodes(v session.View, w session.Writes) (session.Writes, error) {
	for _, a := range w.Accounts {
		if a.Kind != session.DeskCode || !a.Remove {
			continue
		}
		i, err := v.Invite(strings.TrimPrefix(string(a.ID), codeKind))
		switch {
		case errors.Is(err, session.ErrNotFound): // swept
		case err != nil:
			return session.Writes{}, err
		case !i.Used:
			i.Used = true
			w.Invites = append(w.Invites, i)
		}
	}
	return w, nil
}
