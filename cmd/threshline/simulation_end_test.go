package main

import (
	"bytes"
	"context"
	"reflect"
	"slices"
	"strings"
	"time"

	"threshline/cmd/threshline/feed"
	"threshline/session"
	"threshline/session/ledger"
)

// mondays holds that every coordinator who wants it had the week on each Monday.
func (t *truth) mondays(s *simulation) {
	if s.jumped {
		return
	}
	want, underway := 0, 0
	begun := s.begins().In(s.station.programme.Zone)
	for at := time.Date(begun.Year(), begun.Month(), begun.Day()+6, 8, 0, 0, 0, begun.Location()); at.Before(time.Now().Add(session.ClocksApart)); at = at.AddDate(0, 0, 7) {
		if want++; time.Since(at) < time.Hour { // it may still wait for its figures
			underway = 1
		}
	}
	for _, p := range s.people {
		if got := t.weeks[p.number]; p.role == session.Coordinator && !t.noDigest[p.number] && (got < want-underway || got > want) {
			s.wrong(ruleInTime, "%s had %d weeks on %d Mondays", string(p.number), got, want)
		}
	}
}

// ledger holds that the figures are those of a fresh reading of the store.
func (t *truth) ledger(s *simulation) {
	ctx := context.Background()
	if err := s.station.feed.CatchUp(ctx); err != nil {
		s.wrong(ruleLedger, "the ledger: %w", err)
		return
	}
	p := s.station.programme
	fresh, err := feed.New(s.station.store, p)
	if err == nil {
		err = fresh.CatchUp(ctx)
	}
	if err != nil {
		s.wrong(ruleLedger, "a fresh ledger: %w", err)
		return
	}
	got, want := s.station.feed.Ledger.View(), fresh.Ledger.View()
	if got.Len() != len(t.slips) || want.Len() != len(t.slips) {
		s.wrong(ruleLedger, "the ledger holds %d checks, a fresh one %d, of %d", got.Len(), want.Len(), len(t.slips))
	}
	g, w := got.Summary(ledger.Filter{}), want.Summary(ledger.Filter{})
	if !reflect.DeepEqual(g, w) {
		s.wrong(ruleLedger, "the ledger says %+v, a fresh one %+v", g, w)
	}
	t.apart(s, g.Checks)
}

// atTheEnd lets everything come to rest, and looks once more.
func (t *truth) atTheEnd(s *simulation) {
	s.setRight()
	s.allWork()
	s.pass(26 * time.Hour)
	t.onceForAll(s)
	t.look(s)
	s.each(func() { t.ledger(s) })
	t.kept(s)
	t.answered(s)
	t.toldSoon(s)
	t.nobodyLogged(s)
	t.mondays(s)
	if err := s.station.store.Verify(context.Background()); err != nil {
		s.wrong(ruleRest, "the store does not pass its own check: %w", err)
	}
	t.nothingLeft(s)
}

// mostPutOff is longer than a message is put off: to the next day.
const mostPutOff = 26 * time.Hour

// answered holds that nothing waits that should have gone out, nor for a clock that
// was ahead.
func (t *truth) answered(s *simulation) {
	var last session.Outgoing
	now := s.station.clock.Now() // which may wait to be confirmed
	for more := true; more; {
		page, err := s.station.store.Sent(context.Background(), last, 100)
		if err != nil {
			s.wrong(ruleRest, "what was sent: %w", err)
			return
		}
		more = len(page) == 100
		for _, o := range page {
			last = o
			if o.State == session.Queued && (now.Sub(o.Due) > 2*time.Hour || o.Due.Sub(now) > mostPutOff) {
				s.wrong(ruleInTime, "%+v still waits", o)
			}
		}
	}
}

// toldSoon holds that no lot that coordinators are told of with others waits for a
// clock that was ahead.
func (t *truth) toldSoon(s *simulation) {
	soon := s.station.clock.Now().Add(2 * time.Hour)
	for _, r := range t.reminders {
		if r.Kind == session.AlertKind && r.Due.After(soon) {
			s.wrong(ruleInTime, "%+v waits", r)
		}
	}
}

// nothingLeft holds that who is forgotten is in no byte.
func (t *truth) nothingLeft(s *simulation) {
	if len(t.forgotten) == 0 || s.problem != nil {
		return
	}
	t.nothingListed(s)
	if s.file == nil {
		return
	}
	if _, err := s.file.Scrub(context.Background(), nil); err != nil {
		s.wrong(ruleRest, "compact: %w", err)
	}
	f := s.onDisk()
	places := map[string][]byte{"the store": f.store, "the journal": f.journal, "a backup": s.backup()}
	for _, word := range t.forgotten {
		for place, bytesOf := range places {
			if place == "the journal" && t.hadBefore(word) {
				continue
			}
			if bytes.Contains(bytesOf, []byte(word)) {
				s.wrong(ruleForgotten, "%s still holds %s", place, word)
			}
		}
	}
}

// hadBefore reports whether a number was first that of somebody who moved and is not
// forgotten: the journal tells how their record became what it is.
func (t *truth) hadBefore(number string) bool {
	return slices.ContainsFunc(t.moved, func(m simMove) bool { return string(m.was) == number })
}

// nothingListed holds it of all that the store lists.
func (t *truth) nothingListed(s *simulation) {
	due, err := s.station.store.Due(context.Background(), time.Now().AddDate(9, 0, 0), 10_000)
	if err != nil {
		s.wrong(ruleRest, "what is due: %w", err)
	}
	sent, err := s.station.store.Sent(context.Background(), session.Outgoing{}, 10_000)
	if err != nil {
		s.wrong(ruleRest, "what was sent: %w", err)
	}
	for _, number := range t.forgotten {
		for _, r := range due {
			if string(r.Phone) == number {
				s.wrong(ruleForgotten, "%+v is due for %s, who is forgotten", r, number)
			}
		}
		for _, o := range sent {
			if string(o.To) == number || strings.Contains(o.Text, number) {
				s.wrong(ruleForgotten, "%q still holds %s, who is forgotten", o.Text, number)
			}
		}
	}
}
