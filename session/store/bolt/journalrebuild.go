package bolt

import (
	"context"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/journal"
	"threshline/session/store/record"
)

// rebuildSlice is how many checks one transaction of a rebuild writes.
const rebuildSlice = 20_000

// Rebuild makes the store file at path from a journal: every check and every
// person as they were last. With a backup, which may be older, it starts from
// that: accounts, codes and outgoing messages are only there. It refuses to
// replace a file unless overwrite is set: the error is then os.ErrExist. What
// it came upon is returned, also a torn end, which is no error.
func Rebuild(ctx context.Context, path string, backup io.Reader, file JournalFile, overwrite bool) (found journal.Records, err error) {
	err = anew("rebuild", path, overwrite, func(part string) error {
		if backup != nil {
			if err := laidDown(ctx, part, backup); err != nil {
				return err
			}
			if _, err := mendFile(part, file.Name(), time.Second); err != nil {
				return err
			}
			if err := VerifyFile(ctx, part); err != nil {
				return err
			}
		}
		if found, err = rebuildInto(ctx, part, file); err != nil {
			return err
		}
		return VerifyFile(ctx, part)
	})
	return found, err
}

// JournalFile is a journal to be read: a file, or one that tells what was read of
// it.
type JournalFile interface {
	io.ReaderAt
	Name() string
	Stat() (os.FileInfo, error)
}

func rebuildInto(ctx context.Context, part string, file JournalFile) (found journal.Records, err error) {
	info, err := file.Stat()
	if err != nil {
		return found, err
	}
	r, id, err := journal.Read(file, info.Size())
	if err != nil {
		return found, fault(file.Name(), ErrForeign, err, "give the journal that the server kept")
	}
	db, err := bbolt.Open(part, disk.Mode, &bbolt.Options{Timeout: time.Second, NoFreelistSync: true, FreelistType: bbolt.FreelistMapType})
	if err != nil {
		return found, err
	}
	b := &rebuilding{ctx: ctx, db: db, people: map[session.PersonID][]byte{}}
	found, err = b.run(r, id)
	return found, errors.Join(err, db.Close())
}

// rebuilding puts a journal's records into a store.
type rebuilding struct {
	ctx    context.Context
	db     *bbolt.DB
	tx     *bbolt.Tx // nil between slices
	checks int       // in this slice
	// people are held back to the end: a phone may have gone from one to
	// another, and only the last state of each is free of contradiction.
	people map[session.PersonID][]byte
}

func (b *rebuilding) run(r *journal.Reader, id []byte) (found journal.Records, err error) {
	if err := b.begin(id); err != nil {
		return found, err
	}
	found, err = r.Each(func(kind byte, body []byte, _ journal.Span) error {
		if kind == journal.PersonRecord {
			p, err := journal.PersonOf(body)
			b.people[p.ID] = append([]byte(nil), body...)
			return err
		}
		return b.check(body)
	})
	if err == nil {
		err = b.slice(true)
	}
	if err == nil {
		err = b.db.Update(b.putPeople)
	}
	if b.tx != nil {
		err = errors.Join(err, b.tx.Rollback())
	}
	return found, err
}

// begin lays out an empty store, brings a backup's layout up to date, and
// notes whose journal it is.
func (b *rebuilding) begin(id []byte) error {
	return b.db.Update(func(tx *bbolt.Tx) error {
		if tx.Bucket(aboutBucket) == nil {
			if err := initialise(tx); err != nil {
				return err
			}
		}
		if err := migrate(tx, b.db.Path(), migrations); err != nil {
			return err
		}
		about := tx.Bucket(aboutBucket)
		if err := about.Delete(stampKey); err != nil {
			return err
		}
		if before := about.Get(journalKey); before != nil && id != nil && !journal.SameID(before, id) {
			return fault(b.db.Path(), ErrJournal, errors.New("the backup knows another one"), "give the journal of the same store")
		}
		switch before := about.Get(journalKey); {
		case before != nil:
			return nil // bits of the journal's may be lost
		case id == nil: // the journal's head could not be read: it gets the store's
			return about.Put(journalKey, journal.NewID())
		}
		return about.Put(journalKey, id)
	})
}

// check puts a check at its own position, unless a later state is there.
func (b *rebuilding) check(body []byte) error {
	k, err := journal.CheckOf(body)
	if err != nil {
		return err
	}
	if err := b.slice(false); err != nil {
		return err
	}
	checks := in(b.tx, checkBucket)
	c := checkChange{new: &k, value: append([]byte(nil), body[8:]...)}
	if c.position = in(b.tx, slipBucket).Get([]byte(k.Slip)); c.position != nil {
		if binary.BigEndian.Uint64(c.position) >= k.Position {
			return nil
		}
		old, err := view{tx: b.tx}.checkAt(c.position)
		if err != nil {
			return err
		}
		c.old, c.position = &old, append([]byte(nil), c.position...)
	}
	last := checks.Sequence()
	if err := checks.SetSequence(k.Position - 1); err != nil {
		return err
	}
	p := &putter{tx: b.tx}
	c.write(p)
	return errors.Join(p.err, checks.SetSequence(max(last, k.Position)))
}

// slice commits now and then, and at the end, so that no transaction grows
// with the journal.
func (b *rebuilding) slice(end bool) (err error) {
	if b.checks++; b.tx != nil && (end || b.checks > rebuildSlice) {
		err, b.tx = b.tx.Commit(), nil
	}
	if err == nil {
		err = b.ctx.Err()
	}
	if err == nil && b.tx == nil && !end {
		b.checks = 0
		if b.tx, err = b.db.Begin(true); err == nil {
			in(b.tx, checkBucket).FillPercent = appendFill
		}
	}
	return err
}

// putPeople puts the last state of everybody, unless a later one is there.
func (b *rebuilding) putPeople(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	var changes []personChange
	for id, value := range b.people {
		stored := in(tx, personBucket).Get([]byte(id))
		if record.Version(stored) >= record.Version(value) {
			continue
		}
		now, err := journal.PersonOf(value)
		if err != nil {
			return err
		}
		c := personChange{new: &now, value: value}
		if stored != nil {
			old, err := journal.PersonOf(stored)
			if err != nil {
				return err
			}
			c.old = &old
		}
		changes = append(changes, c)
	}
	for i := range changes {
		changes[i].write(p)
	}
	for i := range changes {
		changes[i].takePhone(p)
	}
	return p.err
}
