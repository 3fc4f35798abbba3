package session

import (
	"cmp"
	"slices"
	"time"

	"threshline/grading"
)

// Clearance is the reason why signs are taken off a lot that nobody may eat:
// the report of a laboratory. A laboratory cannot make treated seed food:
// there, the reason is that the seed was never treated.
type Clearance struct {
	Flags []grading.Flag
	By    string    // the laboratory, or who established that nothing was treated
	On    time.Time // the day of the report, at midnight
	// Reference is the report's own number or name.
	Reference string
	At        time.Time // when it was recorded
}

// LongestClearance is how many letters of a laboratory's name, and of a
// reference, are kept: both fit one message with the slip.
const LongestClearance = 24

// Hold adds the signs that an earlier check of the lot found and that this one
// does not name.
func (c *Check) Hold(flags []grading.Flag, from Slip) {
	flags = slices.DeleteFunc(slices.Clone(flags), func(f grading.Flag) bool { return slices.Contains(c.Readings.Flags, f) })
	if len(flags) == 0 {
		return
	}
	c.Readings.Flags = slices.Concat(c.Readings.Flags, flags)
	c.Held = slices.Concat(c.Held, flags)
	c.HeldFrom = cmp.Or(c.HeldFrom, from)
}

// Said returns the readings without the signs held from an earlier check.
func (c *Check) Said() grading.Readings {
	r := c.Readings.Clone()
	r.Flags = slices.DeleteFunc(r.Flags, func(f grading.Flag) bool { return slices.Contains(c.Held, f) })
	return r
}

// Clear takes signs out of the readings. It reports whether it took any out.
func (c *Check) Clear(what Clearance) bool {
	gone := func(f grading.Flag) bool { return slices.Contains(what.Flags, f) }
	cleared := slices.DeleteFunc(slices.Clone(c.Readings.Flags), func(f grading.Flag) bool { return !gone(f) })
	if len(cleared) == 0 {
		return false
	}
	c.Readings = c.Readings.Clone()
	c.Readings.Flags = slices.DeleteFunc(c.Readings.Flags, gone)
	c.Sample = c.Sample.Clone()
	c.Sample.Flags = slices.DeleteFunc(c.Sample.Flags, gone)
	if c.Held = slices.DeleteFunc(slices.Clone(c.Held), gone); len(c.Held) == 0 {
		c.Held, c.HeldFrom = nil, ""
	}
	what.Flags = cleared
	c.Cleared = append(slices.Clone(c.Cleared), what)
	return true
}
