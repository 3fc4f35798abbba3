package main

import (
	"context"
	"io"
	"time"

	"threshline/session"
)

// people reads and writes the programme's people for the desk, by the same
// rules as the command.
type people struct{ s *station }

// Bring takes people in from a roster.
func (p people) Bring(ctx context.Context, in io.Reader, who string, dry bool) (change session.RosterChange, err error) {
	rows, err := session.ReadRoster(in, p.s.cfg.rosterRules())
	if err != nil {
		return change, err
	}
	turn := session.RosterTurn(rows, time.Now(), who, randomBits, &change)
	if dry {
		err = p.s.store.Read(ctx, func(v session.View) error { _, err := turn(v); return err })
	} else {
		_, err = p.s.store.Exchange(ctx, session.Key{}, turn)
	}
	return change, err
}

// Write writes everybody as a roster.
func (p people) Write(ctx context.Context, out io.Writer) error {
	all, err := everybody(ctx, p.s.store)
	if err != nil {
		return err
	}
	return session.WriteRoster(out, all)
}
