package main

import (
	"bytes"
	"context"
	"maps"
	"os"
	"slices"
	"time"

	"threshline/session"
	"threshline/session/store/bolt"
)

// files are what lies on the disk: the store and its journal.
type files struct{ store, journal []byte }

// storeOptions are the programme's, with a file that does not grow by sixteen megabytes.
func (s *simulation) storeOptions() bolt.Options {
	o := storeOptions(s.cfg)
	o.Map = 4 << 20
	return o
}

func (s *simulation) onDisk() (f files) {
	var err error
	if f.store, err = os.ReadFile(s.cfg.StorePath()); err == nil {
		f.journal, err = os.ReadFile(s.storeOptions().Journal)
	}
	if err != nil {
		s.wrong(ruleRest, "%w", err)
	}
	return f
}

func (s *simulation) lay(f files) {
	err := os.WriteFile(s.cfg.StorePath(), f.store, 0o600)
	if err == nil {
		err = os.WriteFile(s.storeOptions().Journal, f.journal, 0o600)
	}
	if err != nil {
		s.wrong(ruleRest, "%w", err)
	}
}

// crash cuts the power while a message is being stored: some of the pages that
// changed are on the disk and some not, or the page that makes them count is
// torn, and the end of the journal may be lost. The carrier then delivers the
// message again, and it must be there once.
func (s *simulation) crash() {
	p := s.anybody()
	before, known := s.onDisk(), s.truth.copy()
	m := p.send(session.SMS, []string{"M 13.7 13.5 13.9 S 200 O 2.4 I 0.6 B 155.2 T 1.1 C 100 P 0 Y 1 R 2 V 1 BAG 9x75 mould", "MENU", "START"}[s.random.IntN(3)], "")
	if m == nil || s.problem != nil {
		return
	}
	after := s.onDisk()
	if err := s.station.close(); err != nil {
		s.wrong(ruleRest, "stop: %w", err)
		return
	}
	s.lay(s.between(before, after))
	time.Sleep(time.Minute)
	if err := s.start(); err != nil {
		s.wrong(ruleRest, "start after a crash: %w", err)
		return
	}
	// Until it is known whether it was stored, what was known before holds.
	then := s.truth
	s.truth = known
	again := *m
	if !again.deliver() {
		return
	}
	if again.duplicate { // it was
		s.truth = then
	}
	if again.duplicate && (again.answer != m.answer || again.filed > 0) {
		s.wrong(ruleAlike, "after a crash %q is answered %q, before %q, and filed %d checks", m.text, again.answer, m.answer, again.filed)
	}
	s.note("crash, stored before: %v", again.duplicate)
	s.happened.add(map[bool]string{true: "crash: stored", false: "crash: not stored"}[again.duplicate])
	p.last = &again
	s.truth.kept(s)
}

// between is what a disk may hold if the power goes while it turns from before
// to after: pages reach it in any order, but the one that makes them count after
// all others, and the journal after that.
func (s *simulation) between(before, after files) files {
	page := os.Getpagesize()
	if len(after.store) < 2*page {
		s.wrong(ruleRest, "the store has %d bytes", len(after.store))
		return after
	}
	mixed := slices.Clone(after.store)
	copy(mixed, before.store)
	whole := s.chance(2) // all but the last page are there
	for at := 2 * page; at < len(mixed); at += page {
		if whole || s.chance(2) {
			copy(mixed[at:at+page], after.store[at:at+page])
		}
	}
	stored := whole
	for at := 0; at < 2*page && whole; at += page {
		if bytes.Equal(before.store[at:at+page], after.store[at:at+page]) {
			continue
		}
		n := page
		if s.chance(2) {
			n = s.random.IntN(page)
		}
		copy(mixed[at:at+n], after.store[at:at+n])
		stored = stored && n == page
	}
	journal := before.journal
	if grown := len(after.journal) - len(journal); stored && grown > 0 && bytes.HasPrefix(after.journal, journal) {
		journal = after.journal[:len(journal)+s.random.IntN(grown+1)]
	}
	return files{mixed, journal}
}

// rot flips one bit, anywhere. What is read after that is as it was, or is said to
// be damaged; the copy from before goes on.
func (s *simulation) rot() {
	if err := s.station.close(); err != nil {
		s.wrong(ruleRest, "stop: %w", err)
		return
	}
	good := s.onDisk()
	bad := files{slices.Clone(good.store), slices.Clone(good.journal)}
	where := bad.store
	if len(bad.journal) > 0 && s.chance(3) {
		where = bad.journal
	}
	at := s.random.IntN(len(where))
	where[at] ^= 1 << s.random.IntN(8)
	s.lay(bad)
	store, err := bolt.Open(s.cfg.StorePath(), s.storeOptions())
	s.note("a bit of byte %d is turned, and the store opens: %v", at, err == nil)
	s.happened.add(map[bool]string{true: "rot: opened", false: "rot: refused"}[err == nil])
	if err == nil {
		_ = store.Read(context.Background(), func(v session.View) error {
			for _, slip := range s.truth.slips {
				if c, err := v.Check(slip); err == nil {
					s.truth.same(s, c)
				}
			}
			return nil
		})
		_ = store.Close()
	}
	s.lay(good)
	if err := s.start(); err != nil {
		s.wrong(ruleRest, "start: %w", err)
	}
}

// copy is the truth as it is now.
func (t *truth) copy() *truth {
	c := *t
	c.checks, c.slips, c.waiting = maps.Clone(t.checks), slices.Clone(t.slips), maps.Clone(t.waiting)
	c.outgoing, c.order = maps.Clone(t.outgoing), slices.Clone(t.order)
	c.digests, c.weeks, c.noDigest = maps.Clone(t.digests), maps.Clone(t.weeks), maps.Clone(t.noDigest)
	c.meant, c.reminders = maps.Clone(t.meant), maps.Clone(t.reminders)
	c.looked, c.forgotten, c.moved = maps.Clone(t.looked), slices.Clone(t.forgotten), slices.Clone(t.moved)
	return &c
}
