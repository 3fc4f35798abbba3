package postgres

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"threshline/session"
	"threshline/session/store/postgres/cluster"
	"threshline/session/store/storetest"
)

// Whoever joins a line is served once, by somebody, in groups.
func TestNobodyIsLeftInLine(t *testing.T) {
	for _, alone := range []time.Duration{0, time.Microsecond, time.Hour} {
		nobodyIsLeft(t, alone)
	}
}

func nobodyIsLeft(t *testing.T, alone time.Duration) {
	t.Helper()
	type one struct {
		served int
		done   chan bool
	}
	var beside, all sync.WaitGroup
	var mu sync.Mutex
	trips, most := 0, 0
	l := newLine(10_000, 2, alone, func(group []*one) {
		mu.Lock()
		trips++
		most = max(most, len(group))
		for _, o := range group {
			o.served++
			o.done <- true
		}
		mu.Unlock()
	})
	const phones, rounds = 64, 200
	for range phones {
		all.Go(func() {
			for range rounds {
				o := &one{done: make(chan bool, 2)}
				if !l.join(o, &beside) {
					t.Error("turned away")
					return
				}
				<-o.done
				mu.Lock()
				if o.served != 1 {
					t.Errorf("served %d times", o.served)
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	beside.Wait()
	if trips == 0 || most > groupSize || len(l.queue) > 0 || len(l.trips) > 0 {
		t.Errorf("%d trips, groups of up to %d; %d wait, %d trips are under way", trips, most, len(l.queue), len(l.trips))
	}
}

// A line turns away whoever is too many. A trip that takes long keeps nobody else
// waiting.
func TestALineIsNeitherTooLongNorHeldUp(t *testing.T) {
	type one struct{ served chan bool }
	var beside sync.WaitGroup
	short := newLine(1, 1, 0, func([]*one) {})
	short.trips <- struct{}{}
	if !short.join(&one{}, &beside) || short.join(&one{}, &beside) {
		t.Error("a line of one takes two, or none")
	}
	stuck, slow := make(chan bool), &one{make(chan bool, 1)}
	l := newLine(10, 2, time.Nanosecond, func(group []*one) {
		for _, o := range group {
			if o == slow {
				<-stuck
			}
			o.served <- true
		}
	})
	beside.Go(func() { l.join(slow, &beside) })
	for len(l.trips) == 0 || len(l.queue) > 0 {
		runtime.Gosched()
	}
	quick := &one{make(chan bool, 1)}
	if !l.join(quick, &beside) || !<-quick.served {
		t.Error("turned away")
	}
	close(stuck)
	beside.Wait()
	if !<-slow.served {
		t.Error("not served")
	}
}

// A trip hangs on the network. Whoever comes just after it began is served by another
// soon, also when nobody comes after them.
func TestATripThatHangsKeepsNobodyWaiting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		type one struct{ served chan bool }
		var beside sync.WaitGroup
		hung := &one{make(chan bool)}
		l := newLine(10, 2, writeAlone, func(group []*one) {
			for _, o := range group {
				<-o.served
			}
		})
		go l.join(hung, &beside)
		synctest.Wait()
		next := &one{make(chan bool)}
		go l.join(next, &beside)
		synctest.Wait()
		if len(l.trips) != 1 || len(l.queue) != 1 {
			t.Fatalf("%d trips are under way and %d wait at first", len(l.trips), len(l.queue))
		}
		time.Sleep(writeAlone)
		synctest.Wait()
		if len(l.trips) != 2 || len(l.queue) != 0 {
			t.Errorf("%d trips are under way and %d wait later", len(l.trips), len(l.queue))
		}
		close(hung.served)
		if len(l.queue) == 0 {
			close(next.served)
		}
		synctest.Wait()
	})
}

// Far more exchanges than connections: a connection that waits with an exchange
// for its write keeps nobody out, and all are given back.
func TestConnectionsThatAreCarriedAreGivenBack(t *testing.T) {
	t.Parallel()
	server := cluster.Start(t, "fsync=off")
	s := at(t, server.URL("postgres"), Options{CallersClock: true, Connections: 8})
	var all sync.WaitGroup
	for i := range 300 {
		all.Go(func() {
			phone := storetest.Phone(i)
			key := session.Key{Phone: phone, Duplicate: fmt.Sprint("m", i), KeepUntil: storetest.Begin}
			if _, err := s.Exchange(context.Background(), key, func(v session.View) (w session.Writes, err error) {
				if i%3 == 0 {
					_, err = v.Growers(storetest.PersonID(i)) // one more question
				}
				if i%5 == 0 {
					return w, fmt.Errorf("turned down: %w", session.ErrNotFound)
				}
				d := storetest.Dialogue(phone)
				return session.Writes{Dialogue: &d}, err
			}); err != nil != (i%5 == 0) {
				t.Error(err)
			}
		})
	}
	all.Wait()
	eventually(t, "all connections are given back", func() bool {
		return s.carried.Load() == 0 && s.pool.Stat().AcquiredConns() == 0
	})
	for phone := range 300 {
		if err := s.Read(t.Context(), func(v session.View) error {
			d, err := v.Dialogue(storetest.Phone(phone))
			if (d.Version != 0) != (phone%5 != 0) {
				t.Errorf("the dialogue of phone %d has version %d", phone, d.Version)
			}
			return err
		}); err != nil {
			t.Fatal(err)
		}
	}
}
