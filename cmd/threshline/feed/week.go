package feed

import (
	"context"
	"time"

	"threshline/session"
	"threshline/session/ledger"
	"threshline/session/programme"
)

// How often the week is reckoned, and how much of it is kept.
const (
	// WeeksEvery is how old the week's figures for coordinators may be while
	// checks come in: reckoning it reads the ledger, and grades the week's new
	// lots again.
	WeeksEvery = 10 * time.Second
	// MostNewest is how many lots to visit a phone lists: some fifteen pages.
	MostNewest = 40
)

// ReckonWeeks brings the weeks up to date with the ledger, unless nothing
// changed since, or they are fresh enough.
func (f *Feed) ReckonWeeks(ctx context.Context, now time.Time) {
	view, today := f.Ledger.View().Aside(func() bool { return ctx.Err() != nil }), session.Midnight(now, f.programme.Zone)
	old := f.Weeks.Load()
	if old != nil && old.Running.Last.Equal(today) && (view.Position() == f.reckoned.position || now.Sub(f.reckoned.at) < max(WeeksEvery, aheadShare*f.reckoned.took)) {
		return
	}
	begun := time.Now()
	sinceMonday := (int(today.Weekday()) + 6) % 7
	sunday := today.AddDate(0, 0, -sinceMonday-1)
	weeks := &programme.Weeks{Running: SevenDays(view, f.programme, today), Whole: SevenDays(view, f.programme, sunday)}
	if ctx.Err() != nil {
		return
	}
	f.Weeks.Store(weeks)
	f.reckoned.position, f.reckoned.at, f.reckoned.took = view.Position(), now, time.Since(begun)
}

// SevenDays reads seven days of a ledger, up to and with the last.
func SevenDays(v *ledger.View, p *programme.Programme, last time.Time) programme.SevenDays {
	span := ledger.Filter{From: last.AddDate(0, 0, -6), To: last}
	what := v.WhatIf(span)
	now, districts := v.Districts(span)
	span.Procedure = ledger.EveryProcedure
	every, districtsEvery := v.Districts(span)
	before, districtsBefore := v.Districts(ledger.Filter{From: last.AddDate(0, 0, -13), To: last.AddDate(0, 0, -7), Procedure: ledger.EveryProcedure})
	weeks := map[string]*programme.Week{}
	of := func(district string) *programme.Week {
		if weeks[district] == nil {
			weeks[district] = &programme.Week{}
		}
		return weeks[district]
	}
	for _, g := range districtsBefore {
		of(g.Key).Before = g.Checks
	}
	for _, g := range districtsEvery {
		w := of(g.Key)
		w.Checks, w.Older = g.Checks, g.Lots
	}
	for _, g := range districts {
		figures(of(g.Key), &g)
	}
	for i := range what.Districts {
		lift(of(what.Districts[i].District), what.Districts[i].ThisLot)
	}
	all := programme.Week{Checks: every.Checks, Older: every.Lots, Before: before.Checks}
	figures(&all, &now)
	lift(&all, what.ThisLot)
	reach := v.Reach(span)
	all.ByHand = reach.Checks
	for _, g := range reach.Districts {
		of(g.Key).ByHand = g.Checks
	}
	span.Way = ledger.EitherWay
	for _, visit := range v.Visits(span) {
		visited(of(visit.District), visit.Slip)
		visited(&all, visit.Slip)
	}
	out := programme.SevenDays{Last: last, Districts: map[string]programme.Week{}}
	for district, w := range weeks {
		out.Districts[district] = *w
	}
	out.Districts[""] = all // with the checks of no known district
	return out
}

// figures notes those of the newest edition of the procedure, in a week that
// counts the lots of all as older ones.
func figures(w *programme.Week, g *ledger.Group) {
	w.Lots, w.InGrade, w.Older = g.Lots, g.InGrade.Count, w.Older-g.Lots
	w.Deciding, w.Held = g.Deciding, g.DecidingShare.Count
}

// lift notes the remedy that improves most lots; of two that improve the same
// number, the one more worth doing.
func lift(w *programme.Week, done []ledger.Outcome) {
	for i := range done {
		if done[i].Lifted > w.Lifts {
			w.Remedy, w.Lifts = done[i].Remedies[0], done[i].Lifted
		}
	}
}

func visited(w *programme.Week, slip session.Slip) {
	if w.Visits++; len(w.Newest) < MostNewest {
		w.Newest = append(w.Newest, slip)
	}
}
