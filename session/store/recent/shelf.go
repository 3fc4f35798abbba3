// Package recent holds what was read of a store lately, until it is written again.
package recent

import (
	"hash/maphash"
	"sync"
)

// slots is into how many groups keys are sorted to remember when one of them was
// written last. Keys of one group are taken for one another there: this can only cost
// a hit.
const slots = 4096

// shelf holds values by key. The store numbers its snapshots; each write makes the
// next one. A value is good in the snapshot that it was read in and in later ones,
// until its key is written. What is held is handed out as it is: nobody may change it.
type shelf[V any] struct {
	most int // the weight of all that is held

	mu         sync.Mutex
	young, old map[string]held[V]
	weight     int           // of young
	last       [slots]uint64 // when a key of the group was written last
	all        uint64        // when all keys were written last
	seed       maphash.Seed
}

type held[V any] struct {
	value  V
	read   uint64 // the snapshot
	weight int
}

// get returns the value of a key in a snapshot, and whether it is held.
func (s *shelf[V]) get(key string, snapshot uint64) (v V, ok bool) {
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

// put holds a value that was read in a snapshot, unless its key was written since.
func (s *shelf[V]) put(key string, snapshot uint64, v V, weight int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all > snapshot || s.last[s.slot(key)] > snapshot {
		return
	}
	s.hold(key, held[V]{v, snapshot, weight})
}

// hold lets go what was not asked for since half as much as fits came in.
func (s *shelf[V]) hold(key string, h held[V]) {
	if h.weight > s.most/2 {
		return
	}
	s.drop(key)
	if s.weight += h.weight; s.weight > s.most/2 {
		s.old, s.young, s.weight = s.young, nil, h.weight
	}
	if s.young == nil {
		s.young = map[string]held[V]{}
	}
	s.young[key] = h
}

// written says that the write which makes a snapshot changes a key. It must be said
// before anybody can read that snapshot.
func (s *shelf[V]) written(key string, snapshot uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.last[s.slot(key)] = snapshot
	s.drop(key)
}

func (s *shelf[V]) drop(key string) {
	s.weight -= s.young[key].weight
	delete(s.young, key)
	delete(s.old, key)
}

// writtenAll is written for every key.
func (s *shelf[V]) writtenAll(snapshot uint64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all = snapshot
	s.young, s.old, s.weight = nil, nil, 0
}

func (s *shelf[V]) slot(key string) uint64 {
	if s.seed == (maphash.Seed{}) {
		s.seed = maphash.MakeSeed()
	}
	return maphash.String(s.seed, key) % slots
}
