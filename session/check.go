package session

import (
	"slices"
	"time"

	"threshline/advice"
	"threshline/grading"
)

// Slip is the short reference of a filed check, with a check character.
type Slip string

// Lot is paddy offered or stored as one: one grower, one variety.
type Lot struct {
	Grower   PersonID
	Variety  string
	District string
	Village  string
	Bags     int             // 0 for a heap
	BagKG    grading.Decimal // of one bag
	KG       grading.Decimal // of the whole lot
}

// CheckState says what became of a filed check.
type CheckState string

// The states of a check.
const (
	Filed     CheckState = "filed"
	Corrected CheckState = "corrected" // replaced by Check.ReplacedBy
	Withdrawn CheckState = "withdrawn"
)

// Procedure is the edition of the work by hand that "?" and the pocket card say and
// checks are made by now. It rises when the same lot would give other readings.
//
//   - 0 and 1: as it was before checks noted it. Broken pieces were weighed with the
//     thin grains, and of what fell through the sieve only stones and sand.
//   - 2: broken pieces are put aside; chaff and stones are what fell and what was
//     picked; on the pan lie whole grains that stayed on the sieve.
const Procedure = 2

// Check is one lot's readings, grade and remedy, once confirmed. It is filed
// for ever: a mistake is marked, never erased.
type Check struct {
	Slip    Slip
	Version uint64 // of the record; 0 before it is stored. The engine counts it
	// Position is the check's place in the order of changes. Each time the check
	// is written, the engine gives it a new position, higher than all before.
	Position uint64
	State    CheckState
	Lot      Lot
	Readings grading.Readings
	// Reporter is who sent the readings; Agent the grower's agent at that time.
	Reporter, Agent PersonID
	Channel         string
	Language        Language
	// Started is when the dialogue about this lot began, At when it was filed.
	Started, At time.Time
	// Paces are the seconds from Started at which each reading came.
	Paces map[grading.Field]int

	// Procedure is the edition of the work by hand that the readings were made by.
	Procedure int

	// What was decided at that time, by which table.
	StandardID, Edition string
	Grade               grading.GradeLabel
	Rank, Of            int
	Complete            bool
	Borderline          bool
	Confidence          float64
	Deciding            []grading.ParameterID
	Missing             []grading.ParameterID
	Gates               []string
	Values              map[grading.ParameterID]grading.Decimal // as shown
	Remedy              advice.RemedyID
	Becomes             grading.GradeLabel
	BecomesRank         int

	// Recheck is the slip of the check before, of the same lot.
	Recheck Slip
	// AfterHand says that Recheck, and whatever came before it, was by hand: nothing
	// of the lot was measured before.
	AfterHand  bool
	ReplacedBy Slip
	// RecheckedBy is the slip of the last check of the lot after this one, even if
	// that check was withdrawn or corrected.
	RecheckedBy Slip
	// Sample is what the last sample alone gave, where Readings are those of
	// several samples of one lot taken together: see Pooled. Empty elsewhere.
	Sample grading.Readings

	// Held lists the flags in Readings.Flags that come from an earlier check of
	// the lot, HeldFrom, and were not seen in this one. Measuring again does not
	// remove them. Nobody may eat the lot until they are cleared.
	Held     []grading.Flag
	HeldFrom Slip
	// Cleared lists the signs that were later taken out of Readings.Flags.
	Cleared []Clearance
}

// First reports whether nothing of the lot was measured before.
func (c *Check) First() bool { return c.Recheck == "" || c.AfterHand }

// Pooled reports whether the readings are those of several samples of a lot to
// which nothing was done: this check's Sample and those of the check before.
func (c *Check) Pooled() bool {
	return slices.ContainsFunc(grading.Fields(), c.Sample.Has) || len(c.Sample.Values) > 0
}

// Ungraded reports whether the check was made by hand and no sign stops its lot: it
// then has no grade, and which are likely is reckoned when it is shown.
func (c *Check) Ungraded() bool { return c.Grade == "" && c.Readings.ByHand() }

// Seen reports whether anything was seen or smelt in the lot, live insects too.
func (c *Check) Seen() bool { return c.Readings.Signed() || c.Infested() }

// Infested reports whether a live insect was seen.
func (c *Check) Infested() bool {
	weevils, _ := c.Readings.Get(grading.LiveWeevils)
	others, _ := c.Readings.Get(grading.LiveOthers)
	return weevils > 0 || others > 0
}
