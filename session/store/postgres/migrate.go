package postgres

import (
	"context"
	"crypto/rand"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"threshline/session"
	"threshline/session/store/record"
)

// migrations are the steps from an empty schema to the one this program knows,
// one file each. A step that was published is never changed: a new one follows.
//
//go:embed migration/*.sql
var migrations embed.FS

// steps are their names, in order.
var steps, _ = fs.Glob(migrations, "migration/*.sql") // an error is of the pattern alone

// migrationLock keeps two programs from changing one schema at once. A number
// of our own.
const migrationLock = 0x74687265

// secretSize is the length of a store's secret, in bytes.
const secretSize = 32

// prepareSchema brings the schema up to date and reads the store's secret.
func prepareSchema(ctx context.Context, cfg *pgx.ConnConfig, schema string) (secret record.Secret, err error) {
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return nil, fault(ctx, "open", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if err := migrate(ctx, conn, schema); err != nil {
		return nil, err
	}
	err = conn.QueryRow(ctx, "select secret from about").Scan(&secret)
	return secret, fault(ctx, "open", err)
}

// migrate brings the schema up to date, each step in a transaction that also
// counts it, so that one cut off is done again.
func migrate(ctx context.Context, conn *pgx.Conn, schema string) error {
	for {
		done, err := migrateOne(ctx, conn, schema)
		if err != nil || done {
			return err
		}
	}
}

// migrateOne does the next step; true when none is left.
func migrateOne(ctx context.Context, conn *pgx.Conn, schema string) (done bool, err error) {
	tx, err := conn.Begin(ctx)
	if err != nil {
		return false, fault(ctx, "bring the tables up to date", err)
	}
	defer tx.Rollback(context.WithoutCancel(ctx)) //nolint:errcheck // does nothing once committed
	version, err := versionOf(ctx, tx, schema)
	if err != nil {
		return false, fault(ctx, "bring the tables up to date", err)
	}
	switch {
	case version > len(steps):
		return false, newer(version)
	case version == len(steps):
		return true, nil
	case version > 0: // who has them open may not know the next step
		if err := unused(ctx, tx, "bring the tables up to date"); err != nil {
			return false, err
		}
	}
	step, err := migrations.ReadFile(steps[version])
	if err != nil {
		return false, err
	}
	// Building an index over many records takes longer than an exchange may.
	script := "set local statement_timeout = 0; set local enable_seqscan = on; set local enable_hashjoin = on;\n" + string(step) +
		"\nupdate about set version = version + 1;"
	if _, err := tx.Conn().PgConn().Exec(ctx, script).ReadAll(); err != nil {
		return false, fault(ctx, "do "+strings.TrimPrefix(steps[version], "migration/"), err)
	}
	return false, fault(ctx, "bring the tables up to date", tx.Commit(ctx))
}

func newer(version int) error {
	return fmt.Errorf("postgres: the tables are of step %d, this program knows %d: %w", version, len(steps), ErrNewer)
}

// unused makes sure that no gateway has the database open, and that none opens it
// before the transaction ends. It returns session.ErrBusy when one has.
func unused(ctx context.Context, tx pgx.Tx, doing string) error {
	// Another step that has just ended may let go of this lock a moment after the other.
	if _, err := tx.Exec(ctx, "set local lock_timeout = '2s'", pgx.QueryExecModeSimpleProtocol); err != nil {
		return fault(ctx, doing, err)
	}
	_, err := tx.Exec(ctx, "select pg_advisory_xact_lock($1, hashtext(current_schema()))", int32(presenceLock))
	if err = fault(ctx, doing, err); errors.Is(err, session.ErrBusy) {
		return fmt.Errorf("%w: a gateway has the database open", err)
	}
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, "set local lock_timeout = 0", pgx.QueryExecModeSimpleProtocol)
	return fault(ctx, doing, err)
}

// stillKnown makes sure that nobody brought the tables further before this program was
// seen to use them.
func stillKnown(ctx context.Context, conn *pgx.Conn) error {
	var version int
	if err := conn.QueryRow(ctx, "select version from about").Scan(&version); err != nil {
		return fault(ctx, "open", err)
	}
	if version > len(steps) {
		return newer(version)
	}
	return nil
}

// versionOf counts the steps that were done, with the lock held until the
// transaction ends. It makes the schema when there is none.
func versionOf(ctx context.Context, tx pgx.Tx, schema string) (version int, err error) {
	if _, err := tx.Exec(ctx, "set local lock_timeout = 0; set local statement_timeout = 0", pgx.QueryExecModeSimpleProtocol); err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock($1)", int64(migrationLock)); err != nil {
		return 0, err
	}
	var there bool
	if err := tx.QueryRow(ctx, "select to_regclass($1) is not null", pgx.Identifier{schema, "about"}.Sanitize()).Scan(&there); err != nil {
		return 0, err
	}
	if !there {
		begin := "create schema if not exists " + pgx.Identifier{schema}.Sanitize() +
			"; create table about (version int not null, secret bytea not null)"
		secret := make([]byte, secretSize)
		rand.Read(secret) // never fails
		if _, err := tx.Exec(ctx, begin, pgx.QueryExecModeSimpleProtocol); err != nil {
			return 0, err
		}
		if _, err := tx.Exec(ctx, "insert into about values (0, $1)", secret); err != nil {
			return 0, err
		}
	}
	err = tx.QueryRow(ctx, "select version from about").Scan(&version)
	return version, err
}

// readWrite refuses a host that does not take writes.
func readWrite(ctx context.Context, conn *pgconn.PgConn) error {
	return pgconn.ValidateConnectTargetSessionAttrsReadWrite(ctx, conn)
}
