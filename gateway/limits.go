package gateway

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// Limit is a token bucket: Burst messages at once, and one more every Every.
// The zero value limits nothing.
type Limit struct {
	Burst int
	Every time.Duration
}

func (l Limit) on() bool { return l.Burst > 0 && l.Every > 0 }

// Limits bound what one phone and one channel may send us. They stop what the
// dialogue cannot see: two machines that answer each other with new texts each
// time, and a person who earns money by making us send.
type Limits struct {
	// Phone holds for each number on each channel; a message must pass all.
	Phone []Limit
	// PerDay is the most messages of one phone in a day, whatever the channel, and
	// is kept in the store; 0 is no limit.
	PerDay int
	// Channel limits all messages of one channel together.
	Channel Limit
	// InFlight is the most exchanges under way at once; further ones are asked to
	// try again later. 0 is 2,048.
	InFlight int
}

// DefaultLimits are our own choice: nobody types a message every two seconds
// for long, nor 400 in a day.
func DefaultLimits() Limits {
	return Limits{
		Phone: []Limit{
			{Burst: 40, Every: 2 * time.Second},
		},
		PerDay:   400,
		InFlight: 2048,
	}
}

// phonesRemembered bounds each of a bucketSet's two generations.
const phonesRemembered = 50_000

// bucketSet holds buckets by name in bounded memory. When one generation is
// full it becomes the old one; buckets that are not used again are dropped with
// it. A dropped bucket starts full again.
type bucketSet struct {
	limits []Limit
	most   int

	mu         sync.Mutex
	young, old map[string][]*rate.Limiter
}

func newBucketSet(most int, limits ...Limit) *bucketSet {
	set := &bucketSet{most: most, young: map[string][]*rate.Limiter{}}
	for _, l := range limits {
		if l.on() {
			set.limits = append(set.limits, l)
		}
	}
	return set
}

// allow takes one token of each of name's buckets, or none and returns false.
func (s *bucketSet) allow(name string, now time.Time) bool {
	if len(s.limits) == 0 {
		return true
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	buckets := s.find(name)
	for _, b := range buckets {
		if b.TokensAt(now) < 1 {
			return false
		}
	}
	for _, b := range buckets {
		b.AllowN(now, 1)
	}
	return true
}

// giveBack returns the tokens of a message that was not taken, or that was answered
// before.
func (s *bucketSet) giveBack(name string, now time.Time) {
	if len(s.limits) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, b := range s.find(name) {
		b.AllowN(now, -1)
	}
}

func (s *bucketSet) find(name string) []*rate.Limiter {
	if buckets, ok := s.young[name]; ok {
		return buckets
	}
	buckets, ok := s.old[name]
	if !ok {
		for _, l := range s.limits {
			buckets = append(buckets, rate.NewLimiter(rate.Every(l.Every), l.Burst))
		}
	}
	if len(s.young) >= s.most {
		s.old, s.young = s.young, map[string][]*rate.Limiter{}
	}
	s.young[name] = buckets
	return buckets
}
