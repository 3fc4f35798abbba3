package ledger

import (
	"cmp"
	"encoding/binary"
	"hash/fnv"
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger/figure"
	"threshline/session/ledger/packed"
)

// evidence is what the tests use, by reporter.
type evidence struct {
	v         *View
	reporters []*reports // that occur, by id
	byID      map[uint32]*reports
	// sets and moistures stand for whole sets of readings and for the moisture
	// readings alone.
	sets, moistures []fingerprint
	// left counts what was not tested, by reason and why.
	left   map[Reason]map[Why]int
	strata map[stratum]*neighbourhood
	places []uint32 // by place: its district
}

// reports is what one person's checks hold.
type reports struct {
	id              session.PersonID
	number          uint32
	checks          int
	digits          [grading.FieldEnd]figure.Digits // by field
	scatter         figure.Scatter                  // of repeats
	repeated, equal int                             // lots with three moisture readings or more; those all the same
	paced, hasty    int
	balanced, exact int
	weighed, edge   int
	better, worse   int
	counted         figure.Pairs
	in              map[stratum]*share
}

// digitFields are the readings whose last digits are tested: those that nobody chooses.
// The sample's weight and the number counted are chosen.
var digitFields = slices.DeleteFunc(grading.Fields(), func(f grading.Field) bool {
	return f.Kind() == grading.CountField || f == grading.SampleWeight
})

// faults are the kinds of grain that are looked for on the pan.
var faults = slices.DeleteFunc(grading.FieldsOf(grading.Pan), func(f grading.Field) bool { return f == grading.Counted })

// fingerprint stands for one check's whole set of readings.
type fingerprint struct {
	hash             uint64
	reporter, grower uint32
}

func (v *View) evidence() *evidence {
	e := &evidence{v: v, byID: map[uint32]*reports{}, strata: map[stratum]*neighbourhood{}, left: map[Reason]map[Why]int{}}
	m := v.match(&Filter{})
	space := make([]uint16, 0, chunkRows)
	var u packed.Reader
	n := v.number(&m, space) // as they grew they would be copied again and again
	e.sets, e.moistures = make([]fingerprint, 0, n), make([]fingerprint, 0, n)
	for _, c := range v.chunks {
		for _, i := range m.rows(c, space) {
			if v.shelf.people[c.reporter[i]] != "" {
				e.row(c, int(i), &u)
			}
		}
	}
	for _, r := range e.byID {
		e.reporters = append(e.reporters, r)
	}
	slices.SortFunc(e.reporters, func(a, b *reports) int { return cmp.Compare(a.id, b.id) })
	return e
}

// leave notes that somebody was not tested for a reason.
func (e *evidence) leave(reason Reason, why Why) {
	if e.left[reason] == nil {
		e.left[reason] = map[Why]int{}
	}
	e.left[reason][why]++
}

func (e *evidence) of(reporter uint32) *reports {
	r := e.byID[reporter]
	if r == nil {
		r = &reports{id: e.v.shelf.people[reporter], number: reporter, in: map[stratum]*share{}}
		e.byID[reporter] = r
	}
	return r
}

func (e *evidence) row(c *chunk, i int, u *packed.Reader) {
	r := e.of(c.reporter[i])
	readings := u.Readings(c.bytes(i))
	if before := c.before[i]; before != 0 && c.marks[i]&markPooled == 0 { // else the check before is in it
		e.recheck(c, i, before-1, readings, u.Paces())
	}
	if c.marks[i]&markRecheck != 0 {
		return // much of a re-check is carried over from the check before
	}
	r.checks++
	for _, f := range digitFields {
		if f == grading.Moisture && len(readings.Repeats) > 0 {
			r.digits[f].Add(readings.Repeats[0]) // the others lie beside the first
		} else if d, ok := readings.Get(f); ok && f != grading.Moisture {
			r.digits[f].Add(d)
		}
	}
	r.scatter.Add(readings.Repeats)
	e.moisture(c, i, r, readings.Repeats)
	r.pace(u.Paces())
	r.balance(readings)
	e.print(c, i, readings)
	e.neighbour(c, i, r)
}

// What hands need at least, seconds. Source: our choice, [ASSUMED-QUALITY], far below
// what anybody does: husking some 20 g, and looking at a hundred grains for the first
// fault.
const (
	leastHusking  = 30
	leastCounting = 20
)

// pace tests two steps that hands cannot hurry, if the readings before and after came
// in different messages: from cleaning to the husked weight, and from that to the first
// fault counted.
func (r *reports) pace(p *packed.Paces) {
	if !p.Known {
		return
	}
	cleaned := max(p.At[grading.Chaff], p.At[grading.Stones], p.At[grading.CleanWeight])
	husked := p.At[grading.BrownWeight]
	counted := -1
	for _, f := range faults {
		if at := p.At[f]; at >= 0 && (counted < 0 || at < counted) {
			counted = at
		}
	}
	looked, hasty := false, false
	for _, step := range [...]struct{ from, to, least int }{{cleaned, husked, leastHusking}, {husked, counted, leastCounting}} {
		if step.from < 0 || step.to <= step.from { // not sent, together, or in another order
			continue
		}
		looked = true
		hasty = hasty || step.to-step.from < step.least
	}
	if looked {
		r.paced++
	}
	if hasty {
		r.hasty++
	}
}

// balance weighs the sample against its parts.
func (r *reports) balance(all *grading.Readings) {
	sum, finest := grading.Decimal(0), grading.One
	for _, f := range [...]grading.Field{grading.Chaff, grading.Stones, grading.CleanWeight, grading.SampleWeight} {
		d, ok := all.Get(f)
		if !ok {
			return
		}
		if sum += d; f == grading.SampleWeight {
			sum -= 2 * d
		}
		for finest > 1 && d%finest != 0 {
			finest /= 10
		}
	}
	sample, _ := all.Get(grading.SampleWeight)
	if sample <= 0 {
		return
	}
	r.weighed++
	if off := sum.Float() / sample.Float(); off >= nearGain || off <= -nearLoss {
		r.edge++
	}
	if finest*fineEnough <= sample { // else the scale cannot tell
		r.balanced++
		if sum == 0 {
			r.exact++
		}
	}
}

const (
	// nearGain and nearLoss are where the outer part of what is accepted without a
	// question begins (1 % gained, 3 % lost), as a share of the sample.
	nearGain, nearLoss = 0.007, 0.02
	// fineEnough is how many steps of the scale the sample has at least.
	fineEnough = 2000
)

// print notes the fingerprint of a set of readings that is large enough to tell lots
// apart.
func (e *evidence) print(c *chunk, i int, r *grading.Readings) {
	h := fnv.New64a()
	numbers := 0
	write := func(f grading.Field, d grading.Decimal) {
		var b [9]byte
		b[0] = byte(f)
		binary.LittleEndian.PutUint64(b[1:], uint64(d))
		h.Write(b[:])
		if d != 0 {
			numbers++
		}
	}
	for _, d := range r.Repeats {
		write(grading.Moisture, d)
	}
	for _, f := range grading.Fields() {
		if d, ok := r.Get(f); ok && f != grading.Moisture && f != grading.Counted && f != grading.SampleWeight {
			write(f, d)
		}
	}
	if numbers >= enoughNumbers {
		e.sets = append(e.sets, fingerprint{h.Sum64(), c.reporter[i], c.grower[i]})
	}
}

// enoughNumbers is how many numbers other than 0 a set holds at least.
const enoughNumbers = 6
