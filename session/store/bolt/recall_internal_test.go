package bolt

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.etcd.io/bbolt"

	"threshline/grading"
	"threshline/session"
	"threshline/session/store/storetest"
)

// compared is a view that reads everything twice, recalled and from the file.
type compared struct {
	view
	t           *testing.T
	hits, lists *atomic.Int64 // people and lists that were not read anew
}

func (v compared) PersonByPhone(phone session.Phone) (session.Person, error) {
	v.hits.Add(1)
	got, err := v.recall.Person(phone, snapshotOf(v.tx), func() (session.Person, error) { v.hits.Add(-1); return v.lookUp(phone) })
	want, wantErr := v.lookUp(phone)
	v.same("the person", got, want, err, wantErr)
	return got, err
}

func (v compared) ChecksOf(grower session.PersonID, n int) ([]session.Check, error) {
	v.lists.Add(1)
	got, err := v.recall.Newest(grower, n, snapshotOf(v.tx), func() ([]session.Check, error) {
		v.lists.Add(-1)
		return v.newest(ofGrowerBucket, string(grower), n)
	})
	want, wantErr := v.newest(ofGrowerBucket, string(grower), n)
	v.same("the checks", got, want, err, wantErr)
	return got, err
}

func (v compared) same(what string, got, want any, err, wantErr error) {
	v.t.Helper()
	if !reflect.DeepEqual(got, want) || errors.Is(err, session.ErrNotFound) != errors.Is(wantErr, session.ErrNotFound) {
		v.t.Errorf("%s in snapshot %d (-file +recalled; %v, %v):\n%s", what, snapshotOf(v.tx), wantErr, err,
			cmp.Diff(want, got, cmp.AllowUnexported(grading.Readings{})))
	}
}

// Many callers give away phones, file, correct and move checks, forget people, fail
// and give up; what is recalled in any snapshot is what the file says there.
func TestWhatIsRecalledIsWhatTheFileSays(t *testing.T) {
	const people, callers, each = 6, 8, 150
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	s := openTest(t, Options{})
	var hits, lists atomic.Int64
	exchange := func(ctx context.Context, phone session.Phone, turn func(compared) (session.Writes, error)) {
		_, err := s.Exchange(ctx, session.Key{Phone: phone}, func(v session.View) (session.Writes, error) {
			return turn(compared{v.(view), t, &hits, &lists})
		})
		if err != nil && !errors.Is(err, session.ErrConflict) && !errors.Is(err, context.Canceled) && !errors.Is(err, errSpoilt) {
			t.Error(err)
		}
	}
	for i := range people {
		exchange(t.Context(), "", func(compared) (session.Writes, error) {
			return session.Writes{People: []session.Person{storetest.Person(i)}}, nil
		})
	}
	var all sync.WaitGroup
	for c := range callers {
		all.Go(func() {
			r := rand.New(rand.NewPCG(seed, uint64(c)))
			for n := range each {
				ctx, cancel := context.WithCancel(t.Context())
				if r.IntN(20) == 0 {
					cancel()
				}
				if r.IntN(20) == 0 {
					if err := s.submit(ctx, &scripted{writes: func(*bbolt.Tx) error { return errSpoilt }}); err == nil {
						t.Error("a work that fails was done")
					}
				}
				exchange(ctx, storetest.Phone(r.IntN(people)), func(v compared) (session.Writes, error) {
					return disturb(v, r, people, c*each+n)
				})
				cancel()
			}
		})
	}
	all.Wait()
	if hits.Load() < callers*each || lists.Load() < callers*each {
		t.Errorf("people are recalled only %d times, lists %d", hits.Load(), lists.Load())
	}
}

var errSpoilt = errors.New("a work that fails")

// disturb reads what is recalled, and changes some of it.
func disturb(v compared, r *rand.Rand, people, n int) (w session.Writes, err error) {
	anybody := func() session.PersonID { return storetest.PersonID(r.IntN(people)) }
	for i := range people {
		if _, err := v.PersonByPhone(storetest.Phone(i)); err != nil && !errors.Is(err, session.ErrNotFound) {
			return w, err
		}
		if _, err := v.ChecksOf(storetest.PersonID(i), 1+r.IntN(12)); err != nil {
			return w, err
		}
	}
	switch r.IntN(8) {
	case 0: // a phone is given away
		p, err := v.Person(anybody())
		if err != nil {
			return w, err
		}
		if p.Phone = storetest.Phone(r.IntN(people)); r.IntN(4) == 0 {
			p.Phone = ""
		}
		w.People = []session.Person{p}
	case 1, 2: // two lots at once, of any time
		for i := range 2 {
			c := storetest.Check(2*n+i, anybody(), anybody())
			c.At = storetest.Begin.Add(time.Duration(r.IntN(40)) * time.Minute)
			w.Checks = append(w.Checks, c)
		}
	case 3, 4: // a check is corrected, or turns out to be somebody else's, or of another time
		list, err := v.ChecksOf(anybody(), 5)
		if err != nil || len(list) == 0 {
			return w, err
		}
		c := list[r.IntN(len(list))]
		c.ReplacedBy = storetest.Slip(n)
		switch r.IntN(6) {
		case 0:
			c.Lot.Grower = anybody()
		case 1:
			c.At = storetest.Begin.Add(time.Duration(r.IntN(40)) * time.Minute)
		}
		w.Checks = []session.Check{c}
	case 5:
		if r.IntN(5) == 0 {
			w.Forget = []session.Trace{{Phone: storetest.Phone(r.IntN(people)), Person: anybody()}}
		}
	}
	return w, nil
}

func TestNothingOfWhoWasForgottenIsRecalled(t *testing.T) {
	s := openTest(t, Options{})
	p := storetest.Person(1)
	write := func(w session.Writes) {
		if _, err := s.Exchange(t.Context(), session.Key{}, func(v session.View) (session.Writes, error) {
			_, err := v.PersonByPhone(p.Phone)
			if err != nil && !errors.Is(err, session.ErrNotFound) {
				return w, err
			}
			_, err = v.ChecksOf(p.ID, 5)
			return w, err
		}); err != nil {
			t.Fatal(err)
		}
	}
	write(session.Writes{People: []session.Person{p}, Checks: []session.Check{storetest.Check(1, p.ID, p.ID)}})
	write(session.Writes{Reply: session.Reply{Text: "recalled from now on"}})
	knows := func() bool {
		held := fmt.Sprintf("%+v", s.recall)
		return strings.Contains(held, p.Name) || strings.Contains(held, string(p.Phone)) || strings.Contains(held, string(storetest.Slip(1)))
	}
	if !knows() {
		t.Fatal("nothing is recalled")
	}
	write(session.Writes{Forget: []session.Trace{{Phone: p.Phone, Person: p.ID, Name: p.Name}}})
	if knows() {
		t.Errorf("something is recalled: %+v", s.recall)
	}
}
