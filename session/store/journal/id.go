package journal

import "crypto/rand"

// NewID makes an id for a store's journals.
func NewID() []byte {
	id := make([]byte, IDSize)
	rand.Read(id) // never fails
	return id
}
