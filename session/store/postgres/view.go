package postgres

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"threshline/session"
	"threshline/session/store/record"
)

// view is a snapshot, as a turn sees it. What was read with the snapshot is at
// hand; for the rest the database is asked, a round trip each.
type view struct {
	ctx  context.Context
	rows *snapshot // nil when nothing can be asked
	read *lookup   // nil when nothing was
}

var _ session.View = view{}

// query has the snapshot's connection answer one query.
func (v view) query(doing, sql string, args []any, scan func(pgx.Rows) error) error {
	if v.rows == nil {
		v.read.missed = true
		return errNotRecalled
	}
	v.rows.mu.Lock()
	defer v.rows.mu.Unlock()
	ctx, cancel := context.WithTimeout(v.ctx, v.rows.store.options.Answer)
	defer cancel()
	v.rows.store.rounds.Add(1)
	if v.read != nil {
		v.rows.store.late.Add(1)
	}
	if err := each(ctx, v.rows.conn, sql, args, scan); err != nil {
		return fault(v.ctx, doing, err)
	}
	return nil
}

// querier is a connection, a pool or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// each scans every row of a query.
func each(ctx context.Context, q querier, sql string, args []any, scan func(pgx.Rows) error) error {
	rows, err := q.Query(ctx, sql, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (v view) Dialogue(phone session.Phone) (d session.Dialogue, err error) {
	version, value := int64(0), []byte(nil)
	if d, known := find(v, func(k *known) map[session.Phone]stored { return k.dialogues }, phone); known {
		version, value = d.version, d.value
	} else if v.read != nil && phone == v.read.phone && phone != "" {
		version, value = v.read.dialogueVersion, v.read.dialogue
	} else if err := v.query("dialogue", "select version, value from dialogues where phone = $1", []any{phone}, func(r pgx.Rows) error {
		return r.Scan(&version, &value)
	}); err != nil {
		return session.Dialogue{}, err
	}
	if version == 0 {
		return session.Dialogue{Phone: phone}, nil
	}
	if err := record.Decode(value, &d, record.Dialogue); err != nil {
		return session.Dialogue{}, fmt.Errorf("postgres: dialogue: %w", err)
	}
	d.Version = uint64(version)
	return d, nil
}

func (v view) Person(id session.PersonID) (session.Person, error) {
	what := fmt.Sprintf("person %q", string(id))
	if p, known := find(v, func(k *known) map[session.PersonID]stored { return k.people }, id); known {
		return personIn(p, what)
	}
	return one(v.people("person", "where id = $1", id))(what)
}

func (v view) PersonByPhone(phone session.Phone) (p session.Person, err error) {
	what := fmt.Sprintf("person of phone %v", phone)
	if p, known := find(v, func(k *known) map[session.Phone]stored { return k.phones }, phone); known {
		return personIn(p, what)
	}
	if v.read == nil || phone != v.read.phone || phone == "" {
		return one(v.people("person by phone", "where phone = $1", phone))(what)
	}
	if v.read.person == nil {
		return p, fmt.Errorf("postgres: %s: %w", what, session.ErrNotFound)
	}
	return personOf(v.read.personVersion, v.read.person)
}

func (v view) Growers(agent session.PersonID) ([]session.Person, error) {
	if list, known := find(v, func(k *known) map[session.PersonID][]stored { return k.rosters }, agent); known {
		return peopleOf(list)
	}
	return v.people("growers", "where agent = $1 order by agent, short, id", agent)
}

func (v view) Coordinators() ([]session.Person, error) {
	if v.read != nil && v.read.known.allCoordinators {
		return peopleOf(v.read.known.coordinators)
	}
	return v.people("coordinators", "where coordinator order by id")
}

func (v view) Named(district string) ([]session.Person, error) {
	place := int64(placeOf(district))
	list, known := find(v, func(k *known) map[int64][]stored { return k.named }, place)
	all, err := peopleOf(list)
	if !known {
		all, err = v.people("agents who are named", "where named_in = $1 order by id", place)
	}
	return slices.DeleteFunc(all, func(p session.Person) bool { return p.District != district }), err
}

// placeOf is a number of a district's name, by which named agents are found. Two
// districts may share one.
func placeOf(district string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(district))
	return h.Sum64()
}

// namedIn is the number of the district in which a person is named; 0 for none.
func namedIn(p *session.Person) int64 {
	district, ok := p.NamedIn()
	if !ok {
		return 0
	}
	return int64(placeOf(district))
}

func (v view) people(doing, where string, args ...any) (list []session.Person, err error) {
	err = v.query(doing, "select version, value from people "+where, args, func(r pgx.Rows) error {
		p, err := scanPerson(r)
		list = append(list, p)
		return err
	})
	return list, err
}

func scanPerson(r pgx.Rows) (session.Person, error) {
	var version int64
	var value []byte
	if err := r.Scan(&version, &value); err != nil {
		return session.Person{}, err
	}
	return personOf(version, value)
}

func personOf(version int64, value []byte) (p session.Person, err error) {
	if err := record.Decode(value, &p, record.Person); err != nil {
		return p, fmt.Errorf("postgres: a person: %w", err)
	}
	p.Version = uint64(version)
	return p, nil
}

func (v view) Check(slip session.Slip) (session.Check, error) {
	if slip == "" { // no check has it: many turns ask so
		return one([]session.Check(nil), nil)("check without a slip")
	}
	what := fmt.Sprintf("check %q", string(slip))
	if c, known := find(v, func(k *known) map[session.Slip]stored { return k.checks }, slip); known {
		if c.value == nil {
			return session.Check{}, fmt.Errorf("postgres: %s: %w", what, session.ErrNotFound)
		}
		return checkOf(c.version, c.position, c.value)
	}
	return one(v.checks("check", "where slip = $1", slip))(what)
}

func (v view) ChecksOf(grower session.PersonID, n int) ([]session.Check, error) {
	l, _ := find(v, func(k *known) map[session.PersonID]listed { return k.of }, grower)
	if list, enough := l.enough(n); enough {
		return checksOf(list)
	}
	return v.checks("checks of a grower", "where grower = $1 order by grower, at desc, slip desc limit $2", grower, max(n, 0))
}

func (v view) ChecksBy(reporter session.PersonID, n int) ([]session.Check, error) {
	l, _ := find(v, func(k *known) map[session.PersonID]listed { return k.by }, reporter)
	if list, enough := l.enough(n); enough {
		return checksOf(list)
	}
	return v.checks("checks by a reporter", "where reporter = $1 order by reporter, at desc, slip desc limit $2", reporter, max(n, 0))
}

func (v view) checks(doing, where string, args ...any) (list []session.Check, err error) {
	err = v.query(doing, checkSQL+where, args, func(r pgx.Rows) error {
		k, err := scanCheck(r)
		list = append(list, k)
		return err
	})
	return list, err
}

// find looks in what was read with the snapshot.
func find[K comparable, V any](v view, in func(*known) map[K]V, key K) (found V, known bool) {
	if v.read == nil {
		return found, false
	}
	found, known = in(v.read.known)[key]
	return found, known
}

// personIn decodes a person, or says that there is none.
func personIn(p stored, what string) (session.Person, error) {
	if p.value == nil {
		return session.Person{}, fmt.Errorf("postgres: %s: %w", what, session.ErrNotFound)
	}
	return personOf(p.version, p.value)
}

// peopleOf decodes people that were read with the snapshot.
func peopleOf(list []stored) (people []session.Person, err error) {
	for _, one := range list {
		p, err := personOf(one.version, one.value)
		if err != nil {
			return nil, err
		}
		people = append(people, p)
	}
	return people, nil
}

// checksOf decodes checks that were read with the snapshot.
func checksOf(list []stored) (checks []session.Check, err error) {
	for _, c := range list {
		k, err := checkOf(c.version, c.position, c.value)
		if err != nil {
			return nil, err
		}
		checks = append(checks, k)
	}
	return checks, nil
}

const checkSQL = "select version, position, value from checks "

func scanCheck(r pgx.Rows) (k session.Check, err error) {
	var version, position int64
	var value []byte
	if err := r.Scan(&version, &position, &value); err != nil {
		return k, err
	}
	return checkOf(version, position, value)
}

func checkOf(version, position int64, value []byte) (k session.Check, err error) {
	if err := record.Decode(value, &k, record.Check); err != nil {
		return k, fmt.Errorf("postgres: a check: %w", err)
	}
	k.Version, k.Position = uint64(version), uint64(position)
	return k, nil
}

func (v view) Looked(slip session.Slip) (list []session.Reminder, err error) {
	first := string(session.LookedID(slip, "")) // ends in a colon, which the semicolon follows
	err = v.query("who looked a slip up", "select value from remindings where id >= $1 and id < $2 order by id", []any{first, strings.TrimSuffix(first, ":") + ";"}, func(r pgx.Rows) error {
		var value []byte
		if err := r.Scan(&value); err != nil {
			return err
		}
		var note session.Reminder
		err := record.Decode(value, &note, record.Reminder)
		list = append(list, note)
		return err
	})
	return list, err
}

func (v view) Invite(code string) (i session.Invite, err error) {
	if kept, known := find(v, func(k *known) map[string]stored { return k.invites }, code); known && kept.value != nil {
		err := record.Decode(kept.value, &i, record.Invite)
		i.Version = uint64(kept.version)
		return i, err
	} else if known {
		return i, fmt.Errorf("postgres: invite %q: %w", code, session.ErrNotFound)
	}
	found := false
	err = v.query("invite", "select version, value from invites where code = $1", []any{code}, func(r pgx.Rows) error {
		var version int64
		var value []byte
		if err := r.Scan(&version, &value); err != nil {
			return err
		}
		found = true
		err := record.Decode(value, &i, record.Invite)
		i.Version = uint64(version)
		return err
	})
	if err == nil && !found {
		err = fmt.Errorf("postgres: invite %q: %w", code, session.ErrNotFound)
	}
	return i, err
}

// one takes the only record of a list, or says what was not found.
func one[T any](list []T, err error) func(what string) (T, error) {
	return func(what string) (found T, _ error) {
		switch {
		case err != nil:
			return found, err
		case len(list) == 0:
			return found, fmt.Errorf("postgres: %s: %w", what, session.ErrNotFound)
		}
		return list[0], nil
	}
}

// Read runs fn on a snapshot. It returns fn's error, session.ErrClosed or a
// context's.
func (s *Store) Read(ctx context.Context, fn func(session.View) error) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return fault(ctx, "read", err)
	}
	defer conn.Release() // the pool drops a connection that is in a transaction
	if _, err := conn.Exec(ctx, beginSnapshot); err != nil {
		return fault(ctx, "read", err)
	}
	err = fn(view{ctx: ctx, rows: &snapshot{store: s, conn: conn}})
	_, ended := conn.Exec(context.WithoutCancel(ctx), "commit")
	return errors.Join(err, fault(ctx, "read", ended))
}
