// Package ledger reads the filed checks of a programme together: what grades
// the lots made, what held them down, what would change if one remedy were
// done everywhere, and which reports deserve a second look.
//
// It keeps every check in columns in memory and is filled by whoever owns the
// store, at start and as checks are filed. It does no input or output, reads no
// clock and draws no random number: the same checks give the same answers,
// counts and sums in whatever order they were applied. It names nobody and accuses nobody; its
// findings are reason ids with figures, for a person to weigh.
package ledger

import (
	"cmp"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// Settings are what the ledger knows about the programme.
type Settings struct {
	// Zone decides on which civil day a check was filed; nil is UTC.
	Zone *time.Location
	// Standards are the tables by which lots are graded again: the one in force and
	// those before it. A check of another table, by ID and edition, is counted but
	// never graded again.
	Standards []*grading.Standard
	// Advice carries the programme's prices, wage and tariffs, and the accuracy of its
	// meters and scales.
	Advice advice.Settings
	// Dangers lists the dangers that a check tells of. It gets the check's readings,
	// and must always answer the same for the same ones. nil finds none.
	Dangers func(*session.Check) []programme.Danger
	// Workers is how many goroutines read at once; 0 is one for each processor.
	Workers int
}

// Ledger holds the filed checks. Any number of goroutines may use it at once:
// they read a View, which later writes do not change.
type Ledger struct {
	settings Settings
	now      atomic.Pointer[View]
	roll     roll

	mu       sync.Mutex // of the writer, and all below
	books    books
	rows     rowIndex // by slip key: place in the columns
	chain    chain
	epoch    uint64
	position uint64 // highest applied
}

// New makes an empty ledger.
func New(settings Settings) *Ledger {
	settings.Zone = cmp.Or(settings.Zone, time.UTC)
	if settings.Workers <= 0 {
		settings.Workers = runtime.GOMAXPROCS(0)
	}
	l := &Ledger{settings: settings, books: newBooks(settings.Standards), chain: newChain()}
	l.roll.people, l.roll.meters = map[session.PersonID]Person{}, map[session.PersonID]string{}
	l.now.Store(&View{settings: &l.settings, shelf: l.books.shelf, roll: &l.roll})
	return l
}

// View is the ledger as it was at one moment. It never changes and costs nothing to
// take: with one view for one page all figures of the page agree.
type View struct {
	settings *Settings
	roll     *roll
	chunks   []*chunk
	shelf    shelf
	position uint64
	count    int
	stop     func() bool // nil never
}

// Aside is the same view for work that nobody waits for. One goroutine reads it, and
// stops when stop says so; what was worked out by then is incomplete.
func (v *View) Aside(stop func() bool) *View {
	aside, settings := *v, *v.settings
	settings.Workers = 1
	aside.settings, aside.stop = &settings, stop
	return &aside
}

// View returns the ledger as it is now.
func (l *Ledger) View() *View { return l.now.Load() }

// Position is the highest position of a check that the view holds: where to go
// on reading the store.
func (v *View) Position() uint64 { return v.position }

// Len is how many checks the view holds, in whatever state.
func (v *View) Len() int { return v.count }

// Apply files checks, or updates filed ones: by slip, and only with a state that is not
// older (Check.Position) than the present one. A corrected or withdrawn check stays and
// can be counted. The ledger keeps only copies of a check's parts.
func (l *Ledger) Apply(checks ...session.Check) {
	if len(checks) == 0 {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.epoch++
	old := l.now.Load()
	w := writer{Ledger: l, chunks: append(make([]*chunk, 0, len(old.chunks)+1), old.chunks...), count: old.count}
	for i := range checks {
		w.apply(&checks[i])
		l.position = max(l.position, checks[i].Position)
	}
	l.now.Store(&View{
		settings: &l.settings, roll: &l.roll, chunks: w.chunks, shelf: l.books.shelf, position: l.position, count: w.count,
	})
}

// Person is what the ledger keeps of somebody: no number.
type Person struct {
	Name              string
	Role              session.Role
	District, Village string
	// ScaleStep is the smallest step of the person's own scale, g; 0 is the
	// programme's.
	ScaleStep grading.Decimal
}

type roll struct {
	mu     sync.RWMutex
	people map[session.PersonID]Person
	meters map[session.PersonID]string // of those who have one with a name
}

// People notes people, or what changed about them. Of somebody forgotten only the role
// stays.
func (l *Ledger) People(people ...session.Person) {
	l.roll.mu.Lock()
	defer l.roll.mu.Unlock()
	for i := range people {
		p := &people[i]
		kept := Person{Role: p.Role}
		if !p.Forgotten {
			text := strings.Clone(p.Name + p.District + p.Village) // which keeps no record in memory
			end := len(p.Name) + len(p.District)
			kept = Person{text[:len(p.Name)], p.Role, text[len(p.Name):end], text[end:], grading.Decimal(p.Kit.ScaleStep)}
		}
		id := session.PersonID(strings.Clone(string(p.ID)))
		l.roll.people[id] = kept
		if p.Kit.Meter == "" || p.Forgotten {
			delete(l.roll.meters, id)
		} else {
			l.roll.meters[id] = strings.Clone(p.Kit.Meter)
		}
	}
}

// Holders lists who has which meter, by its name in small letters, in the order
// of their records.
func (v *View) Holders() map[string][]session.PersonID {
	v.roll.mu.RLock()
	defer v.roll.mu.RUnlock()
	list := map[string][]session.PersonID{}
	for _, id := range slices.Sorted(maps.Keys(v.roll.meters)) {
		name := strings.ToLower(v.roll.meters[id])
		list[name] = append(list[name], id)
	}
	return list
}

// Person finds somebody; false if nothing is known of them. Unlike everything else,
// people are as they are now, not as they were when the view was taken.
func (v *View) Person(id session.PersonID) (Person, bool) {
	v.roll.mu.RLock()
	defer v.roll.mu.RUnlock()
	p, ok := v.roll.people[id]
	return p, ok
}
