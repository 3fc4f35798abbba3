package talk

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// holdOn adds to a check the signs of earlier checks of its lot that make it no
// food: neither measuring again nor a correction removes them.
func (t *Filing) holdOn(c *session.Check, earlier ...session.Slip) {
	for _, slip := range earlier {
		e, ok := t.before(slip)
		if !ok {
			continue
		}
		holdFrom(c, &e)
		if old, poison := t.Programme.Poisoned(e, t.Check); len(poison) > 0 { // filed before signs were held on to
			holdFrom(c, &old)
		}
	}
}

// holdFrom is holdOn for the signs that one check found or holds.
func holdFrom(c, e *session.Check) {
	unfit, own := programme.Unfit(e), e.Said()
	c.Hold(slices.DeleteFunc(slices.Clone(unfit), func(f grading.Flag) bool { return !slices.Contains(own.Flags, f) }), e.Slip)
	c.Hold(unfit, e.HeldFrom)
}

// holdAll is holdOn for a filed check: a change to it removes no sign that an
// earlier check of its lot found.
func (t *Filing) holdAll(c *session.Check) {
	if c.Lot.Grower == "" {
		return
	}
	for _, e := range programme.OneLot(*c, t.checksOf(c.Lot.Grower, mostOfLot)) {
		if e.Slip != c.Slip && !e.At.After(c.At) {
			holdFrom(c, &e)
		}
	}
}

// HeldText names the signs that a check holds from an earlier one, and that
// earlier check; "" when it holds none.
func (t *Filing) HeldText(c session.Check) (before session.Slip, what string) {
	if len(c.Held) > 0 {
		return c.HeldFrom, t.dangersText(&c, t.Programme.Held(&c))
	}
	b, poison := t.Programme.Poisoned(c, t.Check)
	return b.Slip, t.dangersText(&b, poison)
}

// UnfitText names the signs in a check that make the lot no food.
func (v *Voice) UnfitText(c session.Check) string { return v.dangersText(&c, v.Programme.Poison(&c)) }

// Stays says what becomes of a lot with signs that make it no food. A
// laboratory may clear it, except treated seed.
func (v *Voice) Stays(signs []grading.Flag) string {
	if slices.Contains(signs, grading.TreatedSeed) {
		return v.Say("held.seed")
	}
	return v.Say("held.lab")
}

// otherLot marks, among the answers a person confirmed about a draft, a slip as
// that of another lot.
const otherLot = "other lot "

// mostAlike is how many of a grower's checks are looked through for the lot at hand.
const mostAlike = 20

// SameLot finds an earlier check with signs that make the lot no food and that
// may be of the lot under way. Before filing, we ask whether it is the same
// lot.
func (t *Talk) SameLot() (session.Check, bool) {
	draft := t.Draft()
	if draft == nil || draft.Recheck != "" || draft.Corrects != "" || draft.Lot.Grower == "" {
		return session.Check{}, false
	}
	var other []session.Slip
	for _, sure := range draft.Sure {
		if slip, ok := strings.CutPrefix(sure, otherLot); ok {
			other = append(other, session.Slip(slip))
		}
	}
	return programme.SameLot(draft.Lot, draft.Readings.Flags, t.In.At, t.checksOf(draft.Lot.Grower, mostAlike), other)
}

// IsLot says of the draft under way that it is, or is not, the lot of a check.
func (n *Notebook) IsLot(c session.Check, same bool) {
	draft := n.Draft()
	if same {
		draft.Recheck = c.Slip
		return
	}
	draft.Sure = append(draft.Sure, otherLot+string(c.Slip))
}
