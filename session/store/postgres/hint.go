package postgres

import (
	"sync"

	"threshline/session"
)

// hint is what a phone's turns asked besides the dialogue and the person, of
// checks: the next turn mostly asks the same, so that it is read at once with
// them. A wrong one costs a round trip, and nothing else: what is read is of
// the turn's own snapshot, and what was not is asked then.
type hint struct {
	slip   session.Slip
	grower session.PersonID
	n      int // so many checks of the grower, who may be nobody; 0 asks for none
	// So many turns have not asked it since.
	slipIdle, growerIdle int
}

const (
	// hintsKept bounds how many phones' hints a gateway keeps; then it begins anew.
	hintsKept = 20_000
	// hintIdle is after how many turns that do not ask it a hint is dropped.
	hintIdle = 4
)

// hints are those of this gateway's phones.
type hints struct {
	mu sync.Mutex
	of map[session.Phone]hint
}

func (h *hints) get(phone session.Phone) hint {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.of[phone]
}

// learn keeps what a turn asked, and what was asked before for a while.
func (h *hints) learn(phone session.Phone, before, asked hint) {
	if asked.slip == "" {
		if asked.slip, asked.slipIdle = before.slip, before.slipIdle+1; asked.slipIdle > hintIdle {
			asked.slip = ""
		}
	}
	if asked.n == 0 {
		if asked.grower, asked.n, asked.growerIdle = before.grower, before.n, before.growerIdle+1; asked.growerIdle > hintIdle {
			asked.grower, asked.n = "", 0
		}
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	if asked.slip == "" && asked.n == 0 {
		delete(h.of, phone)
		return
	}
	if h.of == nil || len(h.of) >= hintsKept {
		h.of = make(map[session.Phone]hint)
	}
	h.of[phone] = asked
}
