// Package recent holds what was read of a store lately, until it is written again.
package recent

import (
	"hash/maphash"
	"sync"
)

// slots is into how many groups keys are sorted to remember when one was written
// last. Keys of one group are taken for one another there: a value may not be held
// that could be, never the other way round.
const slots = 4096

// Shelf holds values by key. The store numbers its snapshots; each write makes the
// next one. A value is good in the snapshot that it was read in and in later ones,
// until its key is written. The zero Shelf holds nothing; Most makes room.
//
// What is held is handed out as it is: nobody may change it.
type Shelf[V any] struct {
	// Most bounds the weight of all that is held.
	Most int

	mu         sync.Mutex
	young, old map[string]held[V]
	weight     int // of young
	written    [slots]uint64
	all        uint64 // when all keys were written last
	seed       maphash.Seed
}

type held[V any] struct {
	value  V
	read   uint64 // the snapshot
	weight int
}

// Get returns the value of a key in a snapshot, and whether it is held.
func (s *Shelf[V]) Get(key string, snapshot uint64) (v V, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	h, ok := s.young[key]
	if !ok {
		if h, ok = s.old[key]; ok {
			s.hold(key, h)
		}
	}
	if !ok || h.read > snapshot {
		return v, false
	}
	return h.value, true
}

// Put holds a value that was read in a snapshot, unless its key was written since.
func (s *Shelf[V]) Put(key string, snapshot uint64, v V, weight int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all > snapshot || s.written[s.slot(key)] > snapshot {
		return
	}
	s.hold(key, held[V]{v, snapshot, weight})
}

// hold lets go what was not asked for since half as much as fits came in.
func (s *Shelf[V]) hold(key string, h held[V]) {
	if h.weight > s.Most/2 {
		return
	}
	s.drop(key)
	if s.weight += h.weight; s.weight > s.Most/2 {
		s.old, s.young, s.weight = s.young, nil, h.weight
	}
	if s.young == nil {
		s.young = map[string]held[V]{}
	}
	s.young[key] = h
}

// Written says that the write which makes a snapshot changes a key. It must be said
// before anybody can read that snapshot.
func (s *Shelf[V]) Written(key string, snapshot uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.written[s.slot(key)] = snapshot
	s.drop(key)
}

func (s *Shelf[V]) drop(key string) {
	s.weight -= s.young[key].weight
	delete(s.young, key)
	delete(s.old, key)
}

// WrittenAll is Written for every key.
func (s *Shelf[V]) WrittenAll(snapshot uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all = snapshot
	s.young, s.old, s.weight = nil, nil, 0
}

func (s *Shelf[V]) slot(key string) uint64 {
	if s.seed == (maphash.Seed{}) {
		s.seed = maphash.MakeSeed()
	}
	return maphash.String(s.seed, key) % slots
}
