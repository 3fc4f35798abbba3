package desk

import (
	"context"
	"io"
	"net/http"
	"strings"

	"threshline/gateway/desk/access"
	"threshline/session"
	"threshline/session/programme"
)

// mostRoster is the largest roster that is taken in at once, bytes.
const mostRoster = 16 << 20

// RosterBook reads and writes the people of a programme as a roster file.
type RosterBook interface {
	// Bring reads people from a file and stores all of them or none, in the name
	// of who; dry changes nothing. A fault of the file is a session.RosterFault.
	Bring(ctx context.Context, in io.Reader, who string, dry bool) (programme.RosterChange, error)
	// Write writes everybody, with numbers.
	Write(ctx context.Context, out io.Writer) error
}

// rosterOut writes the roster. A roster always has telephone numbers, so
// it also needs the scope "identified", and all districts.
func (d *programDesk) rosterOut(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if !v.May(session.DeskCoordinator) || len(v.Account.Districts) > 0 {
		answerError(w, http.StatusForbidden, "the roster needs the scope "+access.ScopeIdentified+" and a token for all districts")
		return nil
	}
	if err := d.seen(r.Context(), v, "the roster with numbers", ""); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	return d.roster.Write(r.Context(), &patient{w: w, slow: http.NewResponseController(w)})
}

// rosterIn takes a roster in; with ?dry_run=yes it says what would change.
func (d *programDesk) rosterIn(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if !v.May(session.DeskCoordinator) || len(v.Account.Districts) > 0 {
		answerError(w, http.StatusForbidden, "the roster needs the scope "+access.ScopeIdentified+" and a token for all districts")
		return nil
	}
	dry := r.URL.Query().Get("dry_run") == "yes"
	change, err := d.roster.Bring(r.Context(), http.MaxBytesReader(w, r.Body, mostRoster), v.Who(), dry)
	if err != nil {
		if lines := rosterFaults(err); len(lines) > 0 {
			answer(w, http.StatusUnprocessableEntity, map[string]any{"error": "the roster has faults; nothing was changed", "faults": lines})
			return nil
		}
		return err
	}
	answer(w, http.StatusOK, map[string]any{"added": change.Added, "changed": change.Changed, "same": change.Same, "dry_run": dry})
	return nil
}

// rosterFaults finds what is wrong with lines of a roster in an error.
func rosterFaults(err error) (lines []string) {
	switch e := err.(type) {
	case programme.RosterFault:
		return []string{strings.TrimSpace(e.Error())}
	case interface{ Unwrap() []error }:
		for _, inner := range e.Unwrap() {
			lines = append(lines, rosterFaults(inner)...)
		}
	case interface{ Unwrap() error }:
		return rosterFaults(e.Unwrap())
	}
	return lines
}
