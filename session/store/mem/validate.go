package mem

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"threshline/session"
)

// ErrInvalid: the turn's writes cannot be stored: a key is missing, too long,
// contains a zero byte, or comes twice. It is a fault of the turn.
var ErrInvalid = errors.New("mem: cannot be stored")

// maxKey bounds every key in bytes, as the engine on disk does.
const maxKey = 1024

func validate(key session.Key, w *session.Writes) error {
	v := validator{seen: make(map[string]bool)}
	v.within(string(key.Phone), key.Duplicate)
	if w.Dialogue != nil {
		v.key("dialogue", string(w.Dialogue.Phone))
	}
	for _, p := range w.People {
		v.key("person", string(p.ID))
		v.within(string(p.Agent), string(p.Phone))
		if p.Phone != "" {
			v.key("person's phone", string(p.Phone))
		}
	}
	for _, k := range w.Checks {
		v.key("check", string(k.Slip))
		v.within(string(k.Lot.Grower), string(k.Reporter))
	}
	for _, o := range w.Outgoing {
		v.key("outgoing message", string(o.ID))
	}
	for _, r := range w.Reminders {
		v.present("reminder", string(r.ID)) // it may come twice: the last one counts
	}
	for _, i := range w.Invites {
		v.key("invite", i.Code)
	}
	for _, a := range w.Accounts {
		v.key("account", string(a.ID))
	}
	return v.err
}

type validator struct {
	seen map[string]bool
	err  error
}

// key refuses a key that is missing, unfit or comes twice in its kind.
func (v *validator) key(kind, key string) {
	v.present(kind, key)
	if at := kind + "\x00" + key; v.seen[at] {
		v.err = fmt.Errorf("%w: %s %q comes twice", ErrInvalid, kind, key)
	} else {
		v.seen[at] = true
	}
}

// present refuses a key that is missing or unfit.
func (v *validator) present(kind, key string) {
	if key == "" {
		v.err = fmt.Errorf("%w: a %s without a key", ErrInvalid, kind)
	}
	v.within(key)
}

func (v *validator) within(keys ...string) {
	for _, key := range keys {
		if len(key) > maxKey || strings.IndexByte(key, 0) >= 0 {
			v.err = fmt.Errorf("%w: a key of %d bytes, or with a zero byte", ErrInvalid, len(key))
		}
	}
}

// Verify checks that what finds a record and the record agree.
func (s *Store) Verify(ctx context.Context) error {
	if err := s.lock(ctx); err != nil {
		return err
	}
	defer s.mu.Unlock()
	var err error
	s.state.phones.Ascend(func(e phoneEntry) bool {
		if p, ok := s.state.people.Get(session.Person{ID: e.id}); !ok || p.Phone != e.phone {
			err = fmt.Errorf("mem: phone %v leads to person %q, who has another", e.phone, string(e.id))
		}
		return err == nil
	})
	for position, slip := range s.filed {
		if k, ok := s.state.checks.Get(session.Check{Slip: slip}); !ok || k.Position != position {
			err = fmt.Errorf("mem: position %d leads to check %q, which is elsewhere", position, string(slip))
		}
	}
	if n := s.state.checks.Len(); n != len(s.filed) || n != s.state.ofGrower.Len() || n != s.state.byReporter.Len() {
		err = fmt.Errorf("mem: %d checks, but %d positions, %d by grower and %d by reporter",
			n, len(s.filed), s.state.ofGrower.Len(), s.state.byReporter.Len())
	}
	return err
}
