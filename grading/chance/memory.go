package chance

import (
	"slices"

	"threshline/grading"
)

// memory holds what one parameter was found to be in the last lots tried.
type memory struct {
	// fields, moisture apart, and ids are the readings and the direct values that
	// the parameter is made of, by way of other parameters too. The parameter's own
	// id comes first; none before the first lot.
	fields []grading.Field
	moist  bool // it is made of moisture
	ids    []grading.ParameterID
	made   grading.FieldSet // fields and moisture
	kept   []kept
	next   int // of kept, to be overwritten
	shown  int // of kept, what the trial's parameter holds; -1 none
	like   int // of kept, as the lot is that the next are Like; -1 before the first
}

// kept is one parameter as it was for an earlier lot, with the readings it was
// made of.
type kept struct {
	class, word string
	numbers     []grading.Decimal // by the memory's fields, absent where not measured
	repeats     int               // how many moisture readings, and
	sum         grading.Decimal   // their sum: no more is taken of them
	meter       grading.Meter
	given       []grading.Decimal // by the memory's ids; nil when none was given
	found       grading.Found
	rank        int // of its own grade
	beliefs     [families]belief
	met         [families][]float64
}

// mostKept is how many lots a parameter is remembered of: a little more than
// the levels of all remedies that change it.
const mostKept = 12

// allChanged is what anything that is no field's number may change.
const allChanged = ^grading.FieldSet(0)

// absent stands for a value that was not given directly, or measured.
const absent = -1

// recall puts parameter i into the trial, which differs in the changed fields from the
// lot that it is Like: from memory if it is there.
func (a *Assessor) recall(i int, changed grading.FieldSet) error {
	m := &a.memory[i]
	if len(m.ids) == 0 {
		m.dependOn(a.s, i)
	}
	k := m.like
	if k < 0 || changed&m.made != 0 || changed == allChanged {
		k = m.find(a.r, a.res.Class)
	}
	if k < 0 {
		return a.workOut(i)
	}
	if k != m.shown {
		v, old := &a.res.Parameters[i], &m.kept[k]
		v.Found, v.Rank, a.found[i], a.beliefs[i], m.shown = old.found, old.rank, old.found, old.beliefs, k
		for kind := range a.count {
			copy(a.metBy(kind, i), old.met[kind])
		}
	}
	return nil
}

// workOut works out parameter i of the trial and keeps it.
func (a *Assessor) workOut(i int) error {
	m := &a.memory[i]
	rank, err := a.evaluator.Find(i, a.r, a.res.Class, a.found)
	if err != nil {
		m.shown = -1
		return err
	}
	m.shown = m.oldest()
	fresh := &m.kept[m.shown]
	v := &a.res.Parameters[i]
	v.Found, v.Rank = a.found[i], rank
	if a.beliefs[i] = [families]belief{}; v.Measured {
		a.believeAll(i, v)
	}
	m.fill(fresh, a.r, a.res.Class)
	a.keep(i, fresh)
	return nil
}

// remember keeps parameter i as Assess found it, for lots tried from there on.
// An assessor that has never tried one keeps nothing.
func (a *Assessor) remember(i int) {
	m := &a.memory[i]
	if len(m.ids) == 0 {
		return
	}
	fresh := &m.kept[m.oldest()]
	m.fill(fresh, a.r, a.res.Class)
	a.keep(i, fresh)
}

// keep writes down what parameter i is.
func (a *Assessor) keep(i int, fresh *kept) {
	fresh.found, fresh.rank, fresh.beliefs = a.res.Parameters[i].Found, a.res.Parameters[i].Rank, a.beliefs[i]
	for kind := range a.count {
		fresh.met[kind] = append(fresh.met[kind][:0], a.metBy(kind, i)...)
	}
}

// dependOn gathers what parameter i of s is made of.
func (m *memory) dependOn(s *grading.Standard, i int) {
	p := &s.Parameters[i]
	m.shown, m.like = -1, -1
	m.ids = append(m.ids, p.ID)
	add := func(f grading.Field) {
		m.made = m.made.With(f)
		if m.moist = m.moist || f == grading.Moisture; f != grading.NoField && f != grading.Moisture && !slices.Contains(m.fields, f) {
			m.fields = append(m.fields, f)
		}
	}
	if p.Unit == grading.PercentCount {
		add(grading.Counted) // the grains behind a share given directly
	}
	for _, t := range p.Terms {
		for _, f := range t.Fields {
			add(f)
		}
		add(t.Over)
		add(t.Of)
		for j := range s.Parameters[:i] {
			if t.Kind == grading.ValueOf && s.Parameters[j].ID == t.Parameter {
				m.dependOn(s, j)
			}
		}
	}
}

// matches reports whether the parameter was made of the same readings then as
// now.
func (m *memory) matches(old *kept, r *grading.Readings, class string) bool {
	for j, f := range m.fields {
		if old.numbers[j] != numberOr(r, f) {
			return false
		}
	}
	if m.moist && (old.repeats != len(r.Repeats) || old.sum != grading.Sum(r.Repeats) || old.meter != r.Meter) {
		return false
	}
	if old.class != class || old.word != r.Words[m.ids[0]] || (old.given == nil) != (len(r.Values) == 0) {
		return false
	}
	for j := range old.given {
		if old.given[j] != givenOr(r, m.ids[j]) {
			return false
		}
	}
	return true
}

// find is where the parameter is kept as it is now, -1 when it is not.
func (m *memory) find(r *grading.Readings, class string) int {
	if m.shown >= 0 && m.matches(&m.kept[m.shown], r, class) {
		return m.shown
	}
	for i := range m.kept {
		k := (m.next + len(m.kept) - i) % len(m.kept) // the newest first
		if k != m.shown && m.matches(&m.kept[k], r, class) {
			return k
		}
	}
	return -1
}

// oldest is the place for one more parameter to be kept.
func (m *memory) oldest() int {
	if len(m.kept) < mostKept {
		m.kept = append(m.kept, kept{})
		m.next = len(m.kept) - 1
		return m.next
	}
	if m.next = (m.next + 1) % mostKept; m.next == m.like {
		m.next = (m.next + 1) % mostKept
	}
	return m.next
}

// fill writes down what the parameter is made of.
func (m *memory) fill(k *kept, r *grading.Readings, class string) {
	k.class, k.word, k.numbers = class, r.Words[m.ids[0]], k.numbers[:0]
	for _, f := range m.fields {
		k.numbers = append(k.numbers, numberOr(r, f))
	}
	k.repeats, k.sum, k.meter, k.given = len(r.Repeats), grading.Sum(r.Repeats), r.Meter, nil
	if len(r.Values) > 0 {
		for _, id := range m.ids {
			k.given = append(k.given, givenOr(r, id))
		}
	}
}

func numberOr(r *grading.Readings, f grading.Field) grading.Decimal {
	if v, ok := r.Get(f); ok {
		return v
	}
	return absent
}

func givenOr(r *grading.Readings, id grading.ParameterID) grading.Decimal {
	if v, ok := r.Values[id]; ok {
		return v
	}
	return absent
}
