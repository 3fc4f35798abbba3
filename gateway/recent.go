package gateway

import (
	"hash/maphash"
	"strconv"
	"sync"
	"time"

	"threshline/session"
)

// recentKept bounds how many messages without an id are remembered.
const recentKept = 50_000

// recent recognises redeliveries on channels whose carrier gives messages no
// id. It works only inside the short window of the channel, because a person
// may send the same text twice on purpose: "1" and then "1" again. It is kept
// in memory only: a restart forgets a few seconds.
type recent struct {
	seed maphash.Seed

	mu         sync.Mutex
	young, old map[uint64]sighting
	count      uint64
}

// sighting is the key under which a message was first taken.
type sighting struct {
	key   string
	until time.Time
}

func newRecent() *recent {
	return &recent{seed: maphash.MakeSeed(), young: map[uint64]sighting{}}
}

// key returns the key of a message: the one that the same message was given
// less than window ago, or a new one. stamp is different in each run of the
// process.
func (r *recent) key(channel string, phone session.Phone, networkSession, text string, now time.Time, window time.Duration, stamp uint64) string {
	var h maphash.Hash
	h.SetSeed(r.seed)
	for _, part := range []string{channel, string(phone), networkSession, text} {
		h.WriteString(strconv.Itoa(len(part)))
		h.WriteByte(':')
		h.WriteString(part)
	}
	sum := h.Sum64()
	r.mu.Lock()
	defer r.mu.Unlock()
	seen, ok := r.young[sum]
	if !ok {
		seen, ok = r.old[sum]
	}
	if ok && !now.After(seen.until) && !now.Before(seen.until.Add(-window)) {
		return seen.key
	}
	r.count++
	id := strconv.FormatUint(stamp, 36) + "." + strconv.FormatUint(r.count, 36)
	seen = sighting{key: channel + "|no-id|" + id, until: now.Add(window)}
	if len(r.young) >= recentKept {
		r.old, r.young = r.young, map[uint64]sighting{}
	}
	r.young[sum] = seen
	return seen.key
}
