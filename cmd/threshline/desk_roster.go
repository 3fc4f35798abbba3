package main

import (
	"context"
	"io"

	"threshline/session/programme"
)

// people reads and writes the programme's people for the desk, by the same
// rules as the command.
type people struct{ s *station }

// Bring takes people in from a roster.
func (p people) Bring(ctx context.Context, in io.Reader, who string, dry bool) (programme.RosterChange, error) {
	return bringRoster(ctx, p.s.store, p.s.rosterRules(), in, who, dry)
}

// Write writes everybody as a roster.
func (p people) Write(ctx context.Context, out io.Writer) error {
	all, err := everybody(ctx, p.s.store)
	if err != nil {
		return err
	}
	return programme.WriteRoster(out, all)
}
