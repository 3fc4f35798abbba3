package access

import (
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// Cost is what one password hash takes: passes over Memory KiB by Threads.
type Cost struct {
	Passes, Memory uint32
	Threads        uint8
}

// DefaultCost is the second recommended option of [RFC-9106 §4], as the library's
// documentation gives it, three passes over 64 MiB, but in one lane instead of
// four: it is the same work, and a guess leaves the other processors to the phones.
var DefaultCost = Cost{Passes: 3, Memory: 64 << 10, Threads: 1}

// Sizes of a hash, bytes. Source: [RFC-9106 §4].
const (
	saltSize = 16
	hashSize = 32
)

// Bounds of a password, in characters and bytes. A long pass phrase is let be;
// the upper end only keeps a request small. Source: assumed, [ASSUMED-DESK].
const (
	shortestPassword = 12
	longestPassword  = 256
)

// errHash: a stored hash that this program did not write.
var errHash = errors.New("desk: a stored password hash cannot be read")

// hash returns the hash of a password, with its cost and salt in front.
func (c Cost) hash(password string, random io.Reader) (string, error) {
	salt := make([]byte, saltSize)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("desk: no random bits: %w", err)
	}
	key := argon2.IDKey([]byte(password), salt, c.Passes, c.Memory, c.Threads, hashSize)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, c.Memory, c.Passes, c.Threads,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(key)), nil
}

// matches reports whether a password is the one that was hashed, and at what
// cost it was.
func matches(stored, password string) (ok bool, c Cost, err error) {
	parts := strings.Split(stored, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false, c, errHash
	}
	var version int
	if _, err := fmt.Sscanf(parts[2], "v=%d", &version); err != nil || version != argon2.Version {
		return false, c, errHash
	}
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &c.Memory, &c.Passes, &c.Threads); err != nil || c.Passes == 0 || c.Threads == 0 {
		return false, c, errHash
	}
	salt, saltErr := base64.RawStdEncoding.DecodeString(parts[4])
	want, keyErr := base64.RawStdEncoding.DecodeString(parts[5])
	if saltErr != nil || keyErr != nil || len(want) == 0 {
		return false, c, errHash
	}
	got := argon2.IDKey([]byte(password), salt, c.Passes, c.Memory, c.Threads, uint32(len(want)))
	return subtle.ConstantTimeCompare(got, want) == 1, c, nil
}

// weak says why a password is not accepted; "" when it is.
func weak(password, name string) string {
	switch low := strings.ToLower(password); {
	case utf8.RuneCountInString(password) < shortestPassword:
		return fmt.Sprintf("A password needs at least %d characters. Three or four words of your own are easy to remember.", shortestPassword)
	case len(password) > longestPassword:
		return fmt.Sprintf("A password can have at most %d characters.", longestPassword)
	case name != "" && strings.Contains(low, strings.ToLower(name)):
		return "A password must not hold the name."
	case strings.Count(low, low[:1]) == len(low):
		return "A password must not be one character repeated."
	}
	return ""
}
