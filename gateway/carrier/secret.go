package carrier

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Secret is a password, token or key. It never shows itself: printing it
// gives stars.
type Secret struct{ value string }

// String implements [fmt.Stringer].
func (Secret) String() string { return "***" }

// GoString implements [fmt.GoStringer].
func (Secret) GoString() string { return "***" }

// Lookup gives the secret that a reference names.
type Lookup func(reference string) (string, error)

// Secrets looks references up: env:NAME in the environment, file:PATH in a file,
// relative to dir, without its last line end. None of its errors tells a value.
func Secrets(dir string) Lookup {
	return func(reference string) (string, error) {
		kind, name, _ := strings.Cut(reference, ":")
		switch {
		case kind == "env" && name != "":
			value, ok := os.LookupEnv(name)
			if !ok || value == "" {
				return "", fmt.Errorf("%w: the environment has no %s", ErrSecret, name)
			}
			return value, nil
		case kind == "file" && name != "":
			if !filepath.IsAbs(name) {
				name = filepath.Join(dir, name)
			}
			data, err := os.ReadFile(name)
			if err != nil {
				return "", fmt.Errorf("%w: %v", ErrSecret, err)
			}
			return strings.TrimRight(string(data), "\r\n"), nil
		}
		// What stands here may be the secret itself, so it is not shown.
		return "", fmt.Errorf("%w: want env:NAME or file:PATH, never the secret itself", ErrSecret)
	}
}

// minSecret is the shortest token, password or key that is taken, in bytes:
// 16 random hex digits are 64 bits. Our own choice.
const minSecret = 16

func (l Lookup) get(reference string) (Secret, error) {
	if l == nil {
		l = Secrets(".")
	}
	value, err := l(reference)
	if err != nil {
		return Secret{}, err
	}
	if len(value) < minSecret {
		return Secret{}, fmt.Errorf("the secret is %d characters long, want at least %d random ones", len(value), minSecret)
	}
	return Secret{value}, nil
}
