package desk

import (
	"context"
	"net/http"
	"time"

	"threshline/gateway/desk/access"
	"threshline/session"
)

// Upkeep is what an operator does to a gateway that runs.
type Upkeep interface {
	// Compact overwrites deleted data in the store, and returns how many bytes it
	// overwrote, and how many are left because a reader still needs them.
	Compact(ctx context.Context) (cleared, left int64, err error)
	// ConfirmClock believes a clock that jumped, and returns what was believed
	// before, and now.
	ConfirmClock() (before, now time.Time)
}

// compactWithin is how long overwriting deleted data may take.
const compactWithin = 2 * time.Hour

// mayKeepUp refuses a visitor who does not have all districts: the store
// belongs to all of them.
func (d *programDesk) mayKeepUp(w http.ResponseWriter, v *access.Visitor) (bool, error) {
	if d.upkeep == nil {
		return false, session.ErrNotFound
	}
	if len(v.Account.Districts) > 0 {
		answerError(w, http.StatusForbidden, "upkeep needs a token for all districts")
		return false, nil
	}
	return true, nil
}

func (d *programDesk) compact(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if may, err := d.mayKeepUp(w, v); !may {
		return err
	}
	if err := d.guard.Log(r.Context(), v, "had the store written over where it holds nothing more", ""); err != nil {
		return err
	}
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(compactWithin))
	cleared, left, err := d.upkeep.Compact(r.Context())
	if err != nil {
		return err
	}
	answer(w, http.StatusOK, map[string]int64{"cleared_bytes": cleared, "left_bytes": left})
	return nil
}

func (d *programDesk) clock(w http.ResponseWriter, r *http.Request, v *access.Visitor) error {
	if may, err := d.mayKeepUp(w, v); !may {
		return err
	}
	before, now := d.upkeep.ConfirmClock()
	if err := d.guard.Log(r.Context(), v, "confirmed the clock", before.UTC().Format(time.RFC3339)+" to "+now.UTC().Format(time.RFC3339)); err != nil {
		return err
	}
	answer(w, http.StatusOK, map[string]time.Time{"before": before.UTC(), "now": now.UTC()})
	return nil
}
