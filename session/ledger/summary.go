package ledger

import (
	"threshline/advice"
	"threshline/grading"
	"threshline/session/ledger/figure"
)

// Summary is what the checks chosen by a filter show together, lot by lot: only a lot's
// newest check counts, where and when it was made. (If a filter asks for first checks,
// a lot's first check counts.) Every list is in a fixed order, so that the same checks
// always give the same summary.
type Summary struct {
	// Checks match the filter. Corrected and Withdrawn are those that would
	// match it in these states.
	Checks, Corrected, Withdrawn int
	// Apart are the checks that match but were made by an older edition of the
	// procedure than the newest: no figure here counts them.
	Apart []ByProcedure
	// Lots are what all the figures below count: the checks with no re-check after
	// them.
	Lots int
	// KG is the weight of the Weighed lots.
	KG      grading.Decimal
	Weighed int
	// InGrade are the lots whose grade is in its table's ladder, Best those
	// in the best grade; Borderline and Incomplete are marked so when filed.
	InGrade, Best, Borderline, Incomplete figure.Share
	// Confidence is the mean chance of the stated grade over lots that are complete.
	Confidence float64
	// FirstDay and LastDay are the civil days of the earliest and latest check,
	// "2006-01-02"; "" of none.
	FirstDay, LastDay string
	// Grades lists every grade that occurs in a check, and every grade of the known
	// tables that occur: the table with most checks first, then by rank.
	Grades []GradeTally
	// Deciding are the parameters that hold grades down, most often first.
	Deciding []Tally[grading.ParameterID]
	// Missing are the required parameters that were not measured.
	Missing []Tally[grading.ParameterID]
	Gates   []Tally[string]
	// Remedies are those advised as best when filed, most often first.
	Remedies   []Tally[advice.RemedyID]
	Parameters []figure.Distribution
	// Weeks have their Monday as key, "2006-01-02", oldest first; none is left out
	// between the first and the last. The other groups are by number of checks, then by
	// key.
	Weeks, Districts, Villages, Agents, Varieties, Channels []Group
	// Rechecks is what changed between the matching re-checks and the checks
	// before them, whatever Filter.Kind says.
	Rechecks Rechecks
}

// GradeTally is one grade of one table.
type GradeTally struct {
	Standard, Edition string
	Procedure         int // of the readings: see session.Procedure
	Label             grading.GradeLabel
	Rank, Of          int
	// Share is of the lots by the same table and procedure.
	Share figure.Share
	KG    grading.Decimal
	// Confidence is the mean chance of the grade over its complete lots.
	Confidence float64
}

// OutOfGrade reports whether the grade is below its table's ladder.
func (g *GradeTally) OutOfGrade() bool { return g.Rank > g.Of }

// Tally is how many of the lots have something, and their weight.
type Tally[K ~string] struct {
	Standard string // whose parameter or gate it is; "" for remedies
	Key      K
	Share    figure.Share // of all lots
	KG       grading.Decimal
	// Alone is in how many lots nothing else does the same: one parameter decides.
	Alone int
}

// Group is the checks that share a key: of a week, a district, an agent. All but
// Checks is of its Lots, those whose newest check has the key.
type Group struct {
	Key string
	// Within is the district of a village.
	Within     string
	Checks     int
	Lots       int
	KG         grading.Decimal
	InGrade    figure.Share
	Best       figure.Share
	Borderline int
	Incomplete int
	// Grades counts by grade, parallel to Summary.Grades.
	Grades []int
	// Deciding is what holds most of the group's grades down; "" if nothing does.
	Deciding      grading.ParameterID
	DecidingShare figure.Share
}

// Summary reads the checks chosen by f together.
func (v *View) Summary(f Filter) Summary {
	f, apart := v.alike(f)
	t := v.tally(&f, (*tally).chunk)
	out := t.summary()
	out.Apart = apart
	return out
}
