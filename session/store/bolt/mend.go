package bolt

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"threshline/session"
	"threshline/session/store/disk"
	"threshline/session/store/journal"
	"threshline/session/store/record"
)

// A rotten entry is mended. A check or a person is taken from the journal, if
// its last state is there. In any other entry a single lost bit is found by the
// check sum. An entry that cannot be mended stays damaged.

// mending is entries to be put in the place of rotten ones.
type mending []mended

type mended struct{ bucket, old, key, value []byte }

func (mending) check(*bbolt.Tx) error { return nil }

func (w mending) write(tx *bbolt.Tx) error {
	p := &putter{tx: tx}
	for _, m := range w {
		if raw := tx.Bucket(m.bucket).Get(m.old); raw == nil || rottenAt(m.bucket, m.old, raw) == nil {
			continue // put anew, or taken out, meanwhile
		}
		if !bytes.Equal(m.old, m.key) {
			p.delete(m.bucket, m.old)
		}
		p.put(m.bucket, m.key, m.value)
	}
	return p.err
}

// mend puts a rotten entry right while the store serves, in the committer.
func (s *Store) mend(r *rotten) error {
	w, err := s.findMending(r)
	if err != nil || len(w) == 0 {
		return err
	}
	err = s.submit(context.Background(), w)
	if err == nil {
		s.mended.Add(int64(len(w)))
	}
	return err
}

func (s *Store) findMending(r *rotten) (w mending, err error) {
	defer recoverDamage(s.path, &err)
	err = s.db.View(func(tx *bbolt.Tx) error {
		if w, err = mendingOf(tx, []*rotten{r}, s.options.Journal); err == nil && !bytes.Equal(w[0].old, w[0].key) {
			err = r // where it is the first of its page, a write would put the page in a second place
		}
		return err
	})
	return w, err
}

// Mended is how many entries that the disk had changed were put right.
func (s *Store) Mended() int64 { return s.mended.Load() }

// mendFile puts right what is rotten in a file at rest, and tells how much.
func mendFile(path, journalPath string, wait time.Duration) (n int, err error) {
	defer recoverDamage(path, &err)
	defer faultsPanic()()
	db, err := bbolt.Open(path, disk.Mode, &bbolt.Options{Timeout: wait, FreelistType: bbolt.FreelistMapType, ReadOnly: true})
	if err != nil {
		return 0, err
	}
	var w mending
	err = db.View(func(tx *bbolt.Tx) error {
		if version, err := schemaOf(tx); err != nil || version != Schema {
			return nil // has no sums, or others
		}
		all := allRotten(tx)
		if len(all) == 0 {
			if err := verifyCounts(tx); err != nil { // as where a bucket's first page is not its own
				return damaged(path, err)
			}
			return nil
		}
		w, err = mendingOf(tx, all, journalPath)
		return err
	})
	if err := errors.Join(err, db.Close()); err != nil || len(w) == 0 {
		return 0, err
	}
	if db, err = openFile(path, Options{LockWait: wait}.withDefaults()); err != nil {
		return 0, err
	}
	return len(w), errors.Join(db.Update(w.write), db.Close())
}

// allRotten looks at every entry.
func allRotten(tx *bbolt.Tx) (all []*rotten) {
	for _, name := range buckets[1:] { // not aboutBucket
		if b := tx.Bucket(name); b != nil {
			_ = b.ForEach(func(k, v []byte) error {
				if r := rottenAt(name, k, v); r != nil {
					all = append(all, r)
				}
				return nil
			})
		}
	}
	return all
}

func rottenAt(bucket, k, v []byte) (r *rotten) {
	defer func() {
		if is, ok := recover().(*rotten); ok {
			r = is
		}
	}()
	unsealed(bucket, k, v)
	return nil
}

// mendingOf finds what to put in the place of rotten entries; the error wraps
// the first rotten that cannot be mended.
func mendingOf(tx *bbolt.Tx, all []*rotten, journalPath string) (w mending, err error) {
	values, err := fromJournal(all, journalPath)
	if err != nil {
		return nil, fmt.Errorf("%w, and the journal cannot be read: %w", all[0], err)
	}
	for _, r := range all {
		m := mended{bucket: r.bucket, old: r.key, key: r.key, value: values[string(r.bucket)+"\x00"+string(r.key)]}
		if m.value == nil {
			raw := tx.Bucket(r.bucket).Get(r.key)
			ok := false
			if m.key, m.value, ok = corrected(r.key, raw); !ok {
				return nil, r
			}
		}
		w = append(w, m)
	}
	return w, nil
}

// fromJournal looks rotten checks and people up in the journal.
func fromJournal(all []*rotten, path string) (values map[string][]byte, err error) {
	values = map[string][]byte{}
	wanted := map[string]bool{}
	for _, r := range all {
		if string(r.bucket) == string(checkBucket) || string(r.bucket) == string(personBucket) {
			wanted[string(r.bucket)+"\x00"+string(r.key)] = true
		}
	}
	if path == "" || len(wanted) == 0 {
		return values, nil
	}
	return values, journal.Find(path, func(kind byte, body []byte) error {
		name, value := "", body
		switch kind {
		case journal.CheckRecord:
			if len(body) > timeSize {
				name, value = string(checkBucket)+"\x00"+string(body[:timeSize]), body[timeSize:]
			}
		case journal.PersonRecord:
			var p session.Person
			if _, err := record.Versioned(body, &p, record.Person); err != nil {
				return err
			}
			name = string(personBucket) + "\x00" + string(p.ID)
		}
		if wanted[name] {
			values[name] = bytes.Clone(value)
		}
		return nil
	})
}

// corrected finds the one bit of an entry that was lost, if it was one. The sum
// tells any two entries apart that differ in less than four bits; of others it
// takes one for whole in 500,000 of a kB.
func corrected(key, raw []byte) (k, v []byte, ok bool) {
	if len(raw) < sumSize {
		return nil, nil, false
	}
	whole := slices.Concat(key, raw)
	body := whole[:len(whole)-sumSize]
	for bit := range len(whole) * 8 {
		whole[bit/8] ^= 1 << (bit % 8)
		if crc32.Checksum(body, castagnoli) == binary.BigEndian.Uint32(whole[len(body):]) {
			return whole[:len(key):len(key)], body[len(key):len(body):len(body)], true
		}
		whole[bit/8] ^= 1 << (bit % 8)
	}
	return nil, nil, false
}
