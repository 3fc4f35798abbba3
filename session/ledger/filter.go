package ledger

import (
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

// Filter chooses checks. The zero value chooses all that are filed: neither corrected
// nor withdrawn. Every criterion that is set must hold.
type Filter struct {
	// From and To are civil days in the ledger's zone, both inclusive; zero is open.
	From, To time.Time
	// Districts: one of these; none is any.
	Districts                 []string
	Village, Variety, Channel string
	Agent, Reporter, Grower   session.PersonID
	Standard, Edition         string
	// Procedure is an edition of the work by hand; 0 is any. With 0, figures (Summary,
	// Districts, WhatIf) count the newest edition that occurs.
	Procedure                   int
	Grade                       grading.GradeLabel
	Deciding                    grading.ParameterID // one of the parameters that decide
	Gate                        string              // one of the gates that hold
	Remedy                      advice.RemedyID     // the best one, as advised when filed
	Way                         Way
	Kind                        Kind
	State                       State
	OnlyBorderline, OnlyLacking bool // lacking: a required parameter was not measured
}

// Way tells checks with the kit from checks by hand.
type Way uint8

// The ways. Figures are of checks with the kit alone; by hand there is no grade.
const (
	WithKit Way = iota
	ByHand
	EitherWay
)

// Kind tells first checks of a lot from re-checks.
type Kind uint8

// The kinds of check.
const (
	AnyKind    Kind = iota
	FirstCheck      // not a re-check
	ReCheck
	// LastCheck has no filed re-check after it: each lot once, as last seen. What was
	// measured with the kit is not made old by a check by hand.
	LastCheck
)

// State chooses by what became of a check.
type State uint8

// The states.
const (
	InForce State = iota
	WasCorrected
	WasWithdrawn
	AnyState
)

// matcher is a filter in the columns' numbers.
type matcher struct {
	first, last      uint16 // days
	none             bool   // nothing can match
	verdicts, places []bool // nil matches all
	columns          []columnMatch
	kind             Kind
	state            State
	must, not        uint8 // marks, of neither kind nor state
}

// columnMatch compares a column with one number.
type columnMatch struct {
	of   func(*chunk) []uint32
	want uint32
}

// match compiles a filter.
func (v *View) match(f *Filter) matcher {
	m := matcher{last: 1<<16 - 1, kind: f.Kind, state: f.State}
	if !f.From.IsZero() {
		m.first = civil(f.From)
	}
	if !f.To.IsZero() {
		m.last = civil(f.To)
	}
	lookUp(&m, v.shelf.agents, f.Agent, func(c *chunk) []uint32 { return c.agent })
	lookUp(&m, v.shelf.people, f.Reporter, func(c *chunk) []uint32 { return c.reporter })
	lookUp(&m, v.shelf.people, f.Grower, func(c *chunk) []uint32 { return c.grower })
	lookUp(&m, v.shelf.varieties, f.Variety, func(c *chunk) []uint32 { return c.variety })
	lookUp(&m, v.shelf.channels, f.Channel, func(c *chunk) []uint32 { return c.channel })
	if len(f.Districts) > 0 || f.Village != "" {
		m.places = make([]bool, len(v.shelf.places))
		for i, p := range v.shelf.places {
			m.places[i] = (len(f.Districts) == 0 || slices.Contains(f.Districts, p.district)) && (f.Village == "" || p.village == f.Village)
		}
	}
	m.verdicts = v.verdicts(f)
	if f.OnlyBorderline {
		m.must |= markBorderline
	}
	switch f.Way {
	case WithKit:
		m.not |= markHand
	case ByHand:
		m.must |= markHand
	}
	return m
}

// civil returns the day of a time in its own zone.
func civil(t time.Time) uint16 {
	y, month, d := t.Date()
	return dayOf(time.Date(y, month, d, 0, 0, 0, 0, time.UTC), time.UTC)
}

// lookUp adds a criterion to m; a name that no check has matches none.
func lookUp[T ~string](m *matcher, list []T, word T, of func(*chunk) []uint32) {
	if word == "" {
		return
	}
	i := slices.Index(list, word)
	m.none = m.none || i < 0
	m.columns = append(m.columns, columnMatch{of, uint32(i)})
}

// verdicts tells which verdicts match; nil when all do.
func (v *View) verdicts(f *Filter) []bool {
	if f.Standard == "" && f.Edition == "" && f.Procedure <= 0 && f.Grade == "" && f.Deciding == "" && f.Gate == "" && f.Remedy == "" && !f.OnlyLacking {
		return nil
	}
	fits := make([]bool, len(v.shelf.verdicts))
	for i := range v.shelf.verdicts {
		d := &v.shelf.verdicts[i]
		t := v.shelf.tables[d.table]
		fits[i] = (f.Standard == "" || t.standard == f.Standard) &&
			(f.Edition == "" || t.edition == f.Edition) &&
			(f.Procedure <= 0 || t.procedure == f.Procedure) &&
			(f.Grade == "" || v.shelf.standings[d.standing].label == f.Grade) &&
			(f.Deciding == "" || slices.Contains(d.deciding, f.Deciding)) &&
			(f.Gate == "" || slices.Contains(d.gates, f.Gate)) &&
			(f.Remedy == "" || d.remedy == f.Remedy) &&
			(!f.OnlyLacking || !d.complete)
	}
	return fits
}

// choose lists the rows of a chunk that match but for kind and state, in
// order. It writes into space.
func (m *matcher) choose(c *chunk, space []uint16) []uint16 {
	rows := space[:0]
	if m.none || c.n == 0 || c.firstDay > m.last || c.lastDay < m.first {
		return rows
	}
	for i, mark := range c.marks[:c.n] {
		if mark&m.must == m.must && mark&m.not == 0 {
			rows = append(rows, uint16(i))
		}
	}
	if c.firstDay < m.first || c.lastDay > m.last {
		rows = keep(rows, func(i uint16) bool { return c.day[i] >= m.first && c.day[i] <= m.last })
	}
	if m.places != nil {
		rows = keep(rows, func(i uint16) bool { return m.places[c.place[i]] })
	}
	if m.verdicts != nil {
		rows = keep(rows, func(i uint16) bool { return m.verdicts[c.verdict[i]] })
	}
	for _, by := range m.columns {
		column := by.of(c)
		rows = keep(rows, func(i uint16) bool { return column[i] == by.want })
	}
	return rows
}

// ofKind reports whether row i is of the filter's kind.
func (m *matcher) ofKind(c *chunk, i uint16) bool {
	switch m.kind {
	case FirstCheck:
		return c.marks[i]&markRecheck == 0
	case ReCheck:
		return c.marks[i]&markRecheck != 0
	case LastCheck:
		return c.followed[i] == 0
	}
	return true
}

// ofLot reports whether row i counts for its lot: it is the lot's newest check, or its
// first if first checks were asked for.
func (m *matcher) ofLot(c *chunk, i uint16) bool { return m.kind == FirstCheck || c.followed[i] == 0 }

// inState reports whether row i is in the filter's state.
func (m *matcher) inState(c *chunk, i uint16) bool {
	switch m.state {
	case InForce:
		return c.marks[i]&markGone == 0
	case WasCorrected:
		return c.marks[i]&markCorrected != 0
	case WasWithdrawn:
		return c.marks[i]&markWithdrawn != 0
	}
	return true
}

// rows lists the rows of a chunk that match every criterion.
func (m *matcher) rows(c *chunk, space []uint16) []uint16 {
	return keep(m.choose(c, space), func(i uint16) bool { return m.inState(c, i) && m.ofKind(c, i) })
}

// number is how many checks of a view match. It writes into space.
func (v *View) number(m *matcher, space []uint16) (n int) {
	for _, c := range v.chunks {
		n += len(m.rows(c, space))
	}
	return n
}

// keep drops the rows that do not fit, in place.
func keep(rows []uint16, fits func(uint16) bool) []uint16 {
	kept := rows[:0]
	for _, i := range rows {
		if fits(i) {
			kept = append(kept, i)
		}
	}
	return kept
}
