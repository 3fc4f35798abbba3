package record

import (
	"crypto/hmac"
	"crypto/sha256"
	"hash"
	"io"
	"sync"

	"threshline/session"
)

// Secret keys the hashes under which a store keeps answers, so that no answer
// tells whose it is once that is forgotten. It goes with the store's records,
// into a backup and another engine.
type Secret []byte

// HashSize is the length of a hash: each half of an answer's key.
const HashSize = 8

// Hasher makes the hashes of one store. It may be shared.
type Hasher struct {
	sums   *sync.Pool // of *keyedSum: to key one anew costs more than the hash
	nobody []byte
}

// keyedSum is a hash with its key, and room for what it makes.
type keyedSum struct {
	hash.Hash
	out [sha256.Size]byte
}

// NewHasher makes the hasher of a store.
func NewHasher(s Secret) *Hasher {
	h := &Hasher{sums: &sync.Pool{New: func() any { return &keyedSum{Hash: hmac.New(sha256.New, s)} }}}
	h.nobody = h.Hash(nil, "")
	return h
}

// Hash appends a text's hash.
func (h *Hasher) Hash(to []byte, text string) []byte {
	sum := h.sums.Get().(*keyedSum)
	defer h.sums.Put(sum)
	sum.Reset()
	io.WriteString(sum, text)
	return append(to, sum.Sum(sum.out[:0])[:HashSize]...)
}

// AnswerKey is what an answer lies under: a hash of the phone, so that all of a
// phone's can be found, and one of the message's key. Nil without a key.
func (h *Hasher) AnswerKey(key session.Key) []byte {
	if key.Duplicate == "" {
		return nil
	}
	return h.Hash(h.Hash(make([]byte, 0, 2*HashSize), string(key.Phone)), key.Duplicate)
}

// NobodysKey is the key of the same message when nobody is known to have sent it.
func (h *Hasher) NobodysKey(answerKey []byte) []byte {
	return append(h.nobody[:HashSize:HashSize], answerKey[len(answerKey)-HashSize:]...)
}
