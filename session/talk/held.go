package talk

import (
	"slices"
	"strings"

	"threshline/grading"
	"threshline/session"
	"threshline/session/programme"
)

// holdOn adds to a check what earlier checks of its lot gave that makes it no food:
// neither measuring again nor a correction takes that away.
func (t *Talk) holdOn(c *session.Check, earlier ...session.Slip) {
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

// holdFrom is holdOn for what one check gave, or holds itself.
func holdFrom(c, e *session.Check) {
	unfit, own := programme.Unfit(e), e.Said()
	c.Hold(slices.DeleteFunc(slices.Clone(unfit), func(f grading.Flag) bool { return !slices.Contains(own.Flags, f) }), e.Slip)
	c.Hold(unfit, e.HeldFrom)
}

// holdAll is holdOn for a check that was filed: what is changed in it takes nothing
// away of what any earlier check of its lot gave.
func (t *Talk) holdAll(c *session.Check) {
	if c.Lot.Grower == "" {
		return
	}
	checks, err := t.view.ChecksOf(c.Lot.Grower, mostOfLot)
	t.fail(err)
	for _, e := range programme.OneLot(*c, checks) {
		if e.Slip != c.Slip && !e.At.After(c.At) {
			holdFrom(c, &e)
		}
	}
}

// HeldText names what a check holds from an earlier one, and that one; "" for a
// check that holds nothing.
func (t *Talk) HeldText(c session.Check) (before session.Slip, what string) {
	if len(c.Held) > 0 {
		return c.HeldFrom, t.dangersText(&c, t.Programme.Held(&c))
	}
	b, poison := t.Programme.Poisoned(c, t.Check)
	return b.Slip, t.dangersText(&b, poison)
}

// UnfitText names what stands in a check that makes it no food.
func (v *Voice) UnfitText(c session.Check) string { return v.dangersText(&c, v.Programme.Poison(&c)) }

// Stays says what becomes of a lot with signs that make it no food: a laboratory
// may clear it, but no treated seed.
func (v *Voice) Stays(signs []grading.Flag) string {
	if slices.Contains(signs, grading.TreatedSeed) {
		return v.Say("held.seed")
	}
	return v.Say("held.lab")
}

// otherLot marks a slip, among what a person was asked about a draft and stood by,
// as that of another lot.
const otherLot = "other lot "

// mostAlike is how many of a grower's checks are looked through for the lot at hand.
const mostAlike = 20

// SameLot is a check that may be of the lot under way and in which something stands
// that makes it no food: before it is filed it is asked whether it is.
func (t *Talk) SameLot() (session.Check, bool) {
	draft := t.Draft()
	if draft == nil || draft.Recheck != "" || draft.Corrects != "" || draft.Lot.Grower == "" {
		return session.Check{}, false
	}
	checks, err := t.view.ChecksOf(draft.Lot.Grower, mostAlike)
	t.fail(err)
	var other []session.Slip
	for _, sure := range draft.Sure {
		if slip, ok := strings.CutPrefix(sure, otherLot); ok {
			other = append(other, session.Slip(slip))
		}
	}
	return programme.SameLot(draft.Lot, draft.Readings.Flags, t.In.At, checks, other)
}

// IsLot says of the draft under way that it is, or is not, the lot of a check.
func (t *Talk) IsLot(c session.Check, same bool) {
	draft := t.Draft()
	if same {
		draft.Recheck = c.Slip
		return
	}
	draft.Sure = append(draft.Sure, otherLot+string(c.Slip))
}
