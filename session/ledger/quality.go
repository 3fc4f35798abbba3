package ledger

import (
	"cmp"
	"slices"

	"threshline/grading"
	"threshline/session"
	"threshline/session/ledger/figure"
)

// Reason says what is odd about somebody's reports. Each has harmless explanations too;
// the words for both are elsewhere.
type Reason string

// The reasons. "Expected" says what Finding.Found is compared with.
const (
	// LastDigits: the last digits of a reading are not spread evenly. Found and
	// Expected are shares of the commonest digit, Finding.Digit.
	LastDigits Reason = "last_digits"
	// EqualRepeats: all moisture readings of a lot are equal more often than a meter
	// repeats itself. Found and Expected are shares of the checks.
	EqualRepeats Reason = "equal_repeats"
	// SameMoisture: the moisture readings of a lot, in their order, are also those of
	// another grower's lot. Found are the repeats, Expected how many chance would
	// bring.
	SameMoisture Reason = "same_moisture"
	// SameReadings: whole sets of readings are also those of other growers' lots. Found
	// are the repeats, Expected how many chance would bring.
	SameReadings Reason = "same_readings"
	// FastPace: husking or counting took less time than hands need, between
	// readings sent one by one. Found and Expected are shares of the checks.
	FastPace Reason = "fast_pace"
	// NarrowRepeats: moisture readings of one lot lie closer together than the
	// meter can repeat. Found and Expected are standard deviations, points.
	NarrowRepeats Reason = "narrow_repeats"
	// BalanceExact: the parts of the sample weigh exactly the sample. Shares.
	BalanceExact Reason = "balance_exact"
	// BalanceEdge: they miss it by almost as much as is accepted. Shares.
	BalanceEdge Reason = "balance_edge"
	// RecheckGrades: somebody else's re-check found a worse grade more often
	// than a better one. Found and Expected are shares of those that differed.
	RecheckGrades Reason = "recheck_grades"
	// RecheckCounts: somebody else counted another share of faults that no remedy
	// mends. Found is what was counted, Expected what both counts together suggest.
	RecheckCounts Reason = "recheck_counts"
	// NeighbourGrades: grades differ from those of others in the same district and
	// month by more than agents usually differ. Found is the mean rank less that of the
	// others, Expected 0.
	NeighbourGrades Reason = "neighbour_grades"
)

// Reasons lists every reason.
func Reasons() []Reason {
	return []Reason{LastDigits, EqualRepeats, SameMoisture, SameReadings, FastPace, NarrowRepeats, BalanceExact, BalanceEdge,
		RecheckGrades, RecheckCounts, NeighbourGrades}
}

// FindingBelow is the corrected chance below which a finding is flagged. Holm's
// step-down method keeps the chance of any finding at all among people who measure
// honestly at or below it, however many people are tested and however the tests depend
// on each other [HOLM-1979].
const FindingBelow = 0.05

// Finding is a finding about one reporter's checks: worth a visit and a question,
// never a verdict.
type Finding struct {
	Reason   Reason
	Reporter session.PersonID
	Field    grading.Field // for LastDigits
	Digit    int           // for LastDigits
	// Checks is how many were tested: checks, pairs, or readings, by reason.
	Checks          int
	Found, Expected float64
	// Statistic is the test's own figure, and Freedom its degrees of freedom; both are
	// 0 if the chance is counted exactly.
	Statistic, Freedom float64
	// Chance is how likely chance alone brings as much or more. Corrected is the same,
	// corrected for all tests of the Quality.
	Chance, Corrected float64
}

// Why says why somebody's reports were not tested for a reason.
type Why string

// The whys.
const (
	// TooFew: the test needs more checks, pairs or readings than there are.
	TooFew Why = "too_few"
	// TooAlike: the readings lie too close together for their last digits to be even.
	TooAlike Why = "too_alike"
	// TooCoarse: the meter's display is too coarse to show the difference.
	TooCoarse Why = "too_coarse"
	// TooFewPeople: it takes more people to know how much they differ anyway.
	TooFewPeople Why = "too_few_people"
)

// Whys lists every why.
func Whys() []Why { return []Why{TooFew, TooAlike, TooCoarse, TooFewPeople} }

// Look is how much was tested for one reason.
type Look struct {
	// Tests were made, one for each reporter (and reading) with enough; Checks is what
	// they tested together: checks, pairs, or readings, by reason.
	Tests, Checks int
	// Left counts those that were not tested, by why.
	Left map[Why]int
}

// Quality compares the reports of all reporters, over the whole programme.
type Quality struct {
	// Findings are the findings under FindingBelow, least likely by chance first.
	Findings []Finding
	// Looked says by reason what was tested; Tests is how many tests were made in all,
	// for which the chances were corrected.
	Looked map[Reason]Look
	Tests  int
}

// Quality tests the reports of all checks in force, sender by sender. Everybody is
// compared with the whole programme, since the part that a filter leaves is no fair
// comparison. Each test, and how large an oddity must be before it is reported, is
// described at the test; the sizes are our own choice [ASSUMED-QUALITY].
func (v *View) Quality() Quality {
	e := v.evidence()
	var all []Finding
	all = append(all, e.lastDigits()...)
	all = append(all, e.again(SameMoisture, e.moistures)...)
	all = append(all, e.again(SameReadings, e.sets)...)
	all = append(all, e.shares()...)
	all = append(all, e.narrowRepeats()...)
	all = append(all, e.recheckCounts()...)
	all = append(all, e.neighbours()...)
	return judgeAll(all, e.left)
}

// Of keeps the findings about the reporters named. What was tested stays that of the
// whole programme.
func (q Quality) Of(reporters map[session.PersonID]bool) Quality {
	kept := q
	kept.Findings = nil
	for _, f := range q.Findings {
		if reporters[f.Reporter] {
			kept.Findings = append(kept.Findings, f)
		}
	}
	return kept
}

// Reporters are those who sent the checks chosen by f.
func (v *View) Reporters(f Filter) map[session.PersonID]bool {
	m, space := v.match(&f), make([]uint16, 0, chunkRows)
	seen := make([]bool, len(v.shelf.people))
	for _, c := range v.chunks {
		for _, i := range m.rows(c, space) {
			seen[c.reporter[i]] = true
		}
	}
	who := map[session.PersonID]bool{}
	for n, id := range v.shelf.people {
		if seen[n] && id != "" {
			who[id] = true
		}
	}
	return who
}

// judgeAll corrects the chances of all tests together and keeps what is left.
func judgeAll(all []Finding, left map[Reason]map[Why]int) Quality {
	q := Quality{Looked: map[Reason]Look{}, Tests: len(all)}
	for reason, whys := range left {
		q.Looked[reason] = Look{Left: whys}
	}
	chances := make([]float64, len(all))
	for i := range all {
		chances[i] = all[i].Chance
		look := q.Looked[all[i].Reason]
		look.Tests, look.Checks = look.Tests+1, look.Checks+all[i].Checks
		q.Looked[all[i].Reason] = look
	}
	for i, p := range figure.Holm(chances) {
		if all[i].Corrected = p; p < FindingBelow && all[i].worthTelling() {
			q.Findings = append(q.Findings, all[i])
		}
	}
	slices.SortFunc(q.Findings, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(a.Corrected, b.Corrected), cmp.Compare(a.Chance, b.Chance), cmp.Compare(a.Reporter, b.Reporter),
			cmp.Compare(a.Reason, b.Reason), cmp.Compare(a.Field, b.Field))
	})
	return q
}

// worthTelling drops findings that are surely not chance but small: with thousands of
// checks a test finds what matters to nobody. Source: our choice, [ASSUMED-QUALITY].
func (f *Finding) worthTelling() bool {
	switch f.Reason {
	case LastDigits: // Cramer's V
		return f.Statistic >= leastHeaping*leastHeaping*9*float64(f.Checks)
	case NeighbourGrades:
		return f.Found >= leastSteps || f.Found <= -leastSteps
	}
	return true
}

const (
	leastHeaping = 0.1
	leastSteps   = 0.2
)
