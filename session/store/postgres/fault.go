package postgres

import (
	"context"
	"errors"
	"fmt"
	"net"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/puddle/v2"

	"threshline/session"
)

// Faults of the engine's own.
var (
	// ErrInvalid: the turn's writes cannot be stored: a key is missing, too long,
	// contains a zero byte, or comes twice. It is a fault of the turn.
	ErrInvalid = errors.New("postgres: cannot be stored")
	// ErrNewer: a later version of the program has changed the tables.
	ErrNewer = errors.New("written by a later version")
	// errUnknown: the database's answer to a commit was lost. It may have been
	// stored.
	errUnknown = errors.New("the database's answer was lost")
	// errAgain: the transaction gave way to another; it can be tried again.
	errAgain = errors.New("gave way to another transaction")
)

// sqlStates says what a class or code of SQLSTATE means for whoever asked; the
// longest that matches holds. What is not named is a fault of the program.
// Source: PostgreSQL's list of error codes, from memory.
var sqlStates = map[string]error{
	"08":    session.ErrAway,     // connection
	"22021": ErrInvalid,          // not UTF-8
	"22P05": ErrInvalid,          // not in the database's character set
	"23505": session.ErrConflict, // a key that came in meanwhile
	"25P02": session.ErrConflict, // the snapshot is gone
	"25P03": session.ErrBusy,     // idle too long in a transaction
	"25006": session.ErrAway,     // read-only: a standby
	"40001": errAgain,            // serialisation
	"40P01": errAgain,            // deadlock
	"40003": errUnknown,          // completion unknown
	"53100": session.ErrFull,     // disk full
	"53200": session.ErrBusy,     // out of memory
	"53300": session.ErrBusy,     // too many connections
	"53400": session.ErrBusy,     // limit of the configuration
	"53":    session.ErrBusy,
	"55P03": session.ErrBusy, // lock not available in time
	"57014": session.ErrBusy, // statement cancelled, or over its time
	"57P01": session.ErrAway, // shut down by an administrator
	"57P02": session.ErrAway, // crashed
	"57P03": session.ErrAway, // starting up, or in recovery
	"57P05": session.ErrAway, // idle too long
	"58":    session.ErrFull, // the system: input and output
	"XX":    session.ErrAway, // internal
}

// meaning finds what a SQLSTATE means.
func meaning(code string) error {
	if len(code) == 5 {
		if err, ok := sqlStates[code]; ok {
			return err
		}
		return sqlStates[code[:2]]
	}
	return nil
}

// fault sorts an error of the database. ctx is the caller's.
func fault(ctx context.Context, doing string, err error) error {
	if err == nil {
		return nil
	}
	var stated *pgconn.PgError
	var network net.Error
	switch {
	case ctx.Err() != nil:
		return fmt.Errorf("postgres: %s: %w", doing, ctx.Err())
	case errors.Is(err, puddle.ErrClosedPool):
		return fmt.Errorf("postgres: %s: %w", doing, session.ErrClosed)
	case errors.As(err, &stated):
		if kind := meaning(stated.Code); kind != nil {
			return fmt.Errorf("postgres: %s: %w: %w", doing, kind, err)
		}
		return fmt.Errorf("postgres: %s: %w", doing, err)
	case errors.Is(err, context.DeadlineExceeded), errors.As(err, &network), lost(err):
		return fmt.Errorf("postgres: %s: %w: %w", doing, session.ErrAway, err)
	}
	return fmt.Errorf("postgres: %s: %w", doing, err)
}

// lost reports whether an error means that the connection is gone.
func lost(err error) bool {
	var connect *pgconn.ConnectError
	if errors.As(err, &connect) || pgconn.SafeToRetry(err) {
		return true
	}
	for _, said := range []string{"conn closed", "unexpected EOF", "connection reset", "broken pipe", "closed network", "failed to receive", "failed to write"} {
		if strings.Contains(err.Error(), said) {
			return true
		}
	}
	return false
}

// mayBeStored reports whether a write that failed with err may have been
// committed all the same: the database said nothing, or that it was ending.
func mayBeStored(err error) bool {
	if stated, ok := errors.AsType[*pgconn.PgError](err); ok {
		kind := meaning(stated.Code)
		return kind == errUnknown || kind == session.ErrAway && stated.Code != "25006" && stated.Code != "57P03"
	}
	return !pgconn.SafeToRetry(err)
}

func conflict(what string) error { return fmt.Errorf("postgres: %s: %w", what, session.ErrConflict) }

// A taken key is a conflict too: when the turn runs again, it may choose
// another key.
func taken(what string) error {
	return fmt.Errorf("postgres: %s: %w: %w", what, session.ErrExists, session.ErrConflict)
}
