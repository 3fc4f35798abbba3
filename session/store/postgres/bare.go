package postgres

import (
	"context"
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

// Rounds is how many statements were sent for exchanges since the start.
func (s *Store) Rounds() int64 { return s.rounds.Load() }
