package record

import (
	"crypto/hmac"
	"crypto/sha256"

	"threshline/session"
)

// Secret keys the hashes under which a store keeps answers, so that no answer
// tells whose it is once that is forgotten. It goes with the store's records,
// into a backup and another engine.
type Secret []byte

// HashSize is the length of a hash: each half of an answer's key.
const HashSize = 8

// Hash is a text's hash.
func (s Secret) Hash(text string) []byte {
	sum := hmac.New(sha256.New, s)
	sum.Write([]byte(text))
	return sum.Sum(nil)[:HashSize:HashSize]
}

// AnswerKey is what an answer lies under: a hash of the phone, so that all of a
// phone's can be found, and one of the message's key. Nil without a key.
func (s Secret) AnswerKey(key session.Key) []byte {
	if key.Duplicate == "" {
		return nil
	}
	return append(s.Hash(string(key.Phone)), s.Hash(key.Duplicate)...)
}
