package postgres

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// Bare is the ceiling of the benchmarks: it puts as many bytes as a typical
// exchange does, in one batch of plain statements, with one synced commit.
// Nothing is read or checked.
func (s *Store) Bare(ctx context.Context, phone string, i int) error {
	var batch pgx.Batch
	batch.Queue("begin")
	batch.Queue("insert into bare_duplicates (key, until, reply) values ($1, $2, $3)", fmt.Sprintf("valley-ussd %d", i), int64(i), bareReply)
	batch.Queue("insert into bare_dialogues (phone, version, value) values ($1, $2, $3) on conflict (phone) do update set version = excluded.version, value = excluded.value", phone, int64(i), bareDialogue)
	if i%12 == 0 {
		batch.Queue("insert into bare_checks (slip, grower, at, value) values ($1, $2, $3, $4)", fmt.Sprintf("S%d", i), phone, int64(i), bareCheck)
	}
	batch.Queue("commit")
	return s.pool.SendBatch(ctx, &batch).Close()
}

var bareReply, bareDialogue, bareCheck = make([]byte, 72), make([]byte, 330), make([]byte, 420)

// MakeBare makes the tables of Bare.
func (s *Store) MakeBare(ctx context.Context) error {
	for _, sql := range []string{
		`create table bare_duplicates (key text collate "C" primary key, until bigint not null, reply bytea not null)`,
		`create table bare_dialogues (phone text collate "C" primary key, version bigint not null, value bytea not null) with (fillfactor = 50)`,
		`create table bare_checks (slip text collate "C" primary key, grower text collate "C" not null, at bigint not null, value bytea not null)`,
		`create index on bare_duplicates (until)`, `create index on bare_checks (grower, at)`,
	} {
		if _, err := s.pool.Exec(ctx, sql); err != nil {
			return err
		}
	}
	return nil
}

// BarePut is Bare for a router without a dialogue: one value under a key.
func (s *Store) BarePut(ctx context.Context, key, value []byte) error {
	var batch pgx.Batch
	batch.Queue("begin")
	batch.Queue("insert into bare_puts (key, value) values ($1, $2) on conflict (key) do update set value = excluded.value", key, value)
	batch.Queue("commit")
	return s.pool.SendBatch(ctx, &batch).Close()
}

// MakeBarePut makes the table of BarePut.
func (s *Store) MakeBarePut(ctx context.Context) error {
	_, err := s.pool.Exec(ctx, "create table bare_puts (key bytea primary key, value bytea not null)")
	return err
}

// Rounds is how many round trips were made for exchanges since the start.
func (s *Store) Rounds() int64 { return s.rounds.Load() }

// Put is how many bytes of keys and values the exchanges of this process put.
func (s *Store) Put() int64 { return s.put.Load() }

// Written is how many bytes the database has written to its log, for everybody;
// 0 while it does not say.
func (s *Store) Written() (bytes int64) {
	_ = s.query(context.Background(), "look at the log", "select pg_wal_lsn_diff(pg_current_wal_insert_lsn(), '0/0')::bigint", nil, func(r pgx.Rows) error { return r.Scan(&bytes) })
	return bytes
}

// Drop takes the schema of the options away, with all that is in it.
func Drop(ctx context.Context, url string, o Options) error {
	o = o.withDefaults()
	cfg, err := configure(url, o)
	if err != nil {
		return err
	}
	conn, err := pgx.ConnectConfig(ctx, cfg.ConnConfig)
	if err != nil {
		return fault(ctx, "drop", err)
	}
	_, err = conn.Exec(ctx, "set statement_timeout = 0; drop schema if exists "+pgx.Identifier{o.Schema}.Sanitize()+" cascade", pgx.QueryExecModeSimpleProtocol)
	return errors.Join(fault(ctx, "drop", err), conn.Close(ctx))
}
