package advice

import "threshline/grading"

// Band is a remedy's place in the order of precedence. A remedy of a lower
// band is chosen only when no earlier band has one that is worth doing.
type Band uint8

// The bands, most urgent first.
const (
	// SafetyBand protects people: mould, treated seed, insects with heat.
	SafetyBand Band = iota
	// SpoilBand saves what gets worse by the day: wet grain, live insects.
	SpoilBand
	// MendBand takes something out of this lot that holds its grade down.
	MendBand
	// MeasureBand settles a grade that is too close to call.
	MeasureBand
	// SeasonBand makes the next lot better.
	SeasonBand
	// KeepBand keeps what the lot is worth.
	KeepBand
)

var bandNames = [...]string{"safety", "spoil", "mend", "measure", "season", "keep"}

// String is the band's name, such as "mend".
func (b Band) String() string { return bandNames[b] }

// Trust says how far a number of a remedy can be trusted.
type Trust string

// The degrees of trust.
const (
	Read      Trust = "read"            // in the source named
	Secondary Trust = "secondary"       // in a text that quotes the source
	Practice  Trust = "common practice" // no source
	Assumed   Trust = "assumed"         // our choice, no source
)

// Share is a fraction of 1 with its doubt: the low and high figures are each
// given a quarter of the weight, the middle one a half.
type Share struct{ Low, Mid, High float64 }

// Effect is what one pass of a remedy takes away of what a field measures. For
// this lot it is mass or live insects taken out of the bag; for the next season
// it is how much less of it the next lot is expected to hold.
type Effect struct {
	Field  grading.Field
	Takes  Share
	Trust  Trust
	Source string
}

// Work is how many person-hours a remedy takes: Fixed, and PerTonne for each
// tonne of the lot.
type Work struct {
	Fixed, PerTonne float64
	Trust           Trust
	Source          string
}

// Hours is the work for a lot of kg.
func (w Work) Hours(kg float64) float64 { return w.Fixed + w.PerTonne*kg/1000 }

// CauseID names the usual cause, in English words with low lines between them.
type CauseID string

// ToolID names what a remedy is done with, likewise.
type ToolID string

// NoSource is a remedy's Source where there is none.
const NoSource = "common practice, no source"

// Remedy is something that a person can do about a parameter. The table of
// Remedies is the whole knowledge of what there is to do.
type Remedy struct {
	ID   RemedyID
	When When
	Band Band
	// Effects are what it takes out per pass. Drying has none: it works by the
	// mass balance.
	Effects []Effect
	// Dries says that it brings the moisture down to a target.
	Dries bool
	// Passes is how often it can usefully be repeated; 0 is once.
	Passes int
	// About are the fields that call for it, without any claim to mend them in
	// this lot, and Flags what was seen or smelt that does.
	About []grading.Field
	Flags []grading.Flag
	Cause CauseID
	Tool  ToolID
	Work  Work
	// Paid says that somebody else's machine is paid for, or something bought: see
	// Settings.Tariffs. Sown says that it is seed: see Settings.Seed.
	Paid, Sown bool
	// LargestKG is the largest lot it is sensible for; 0 any.
	LargestKG float64
	// Beyond names the work by hand that it takes the place of: for a lot too
	// large for that, a paid machine is named even where its fee is not known.
	Beyond RemedyID
	// InSun says that the lot is spread in the sun: whatever that is done for, it
	// is done once.
	InSun bool
	// DueDays is by when, days from the check; 0 today, -1 no date.
	DueDays  int
	Cautions []CautionID
	Source   string // tag, or NoSource
	Trust    Trust
}

// effect is the share that the remedy takes of a field per pass; ok is false
// when it takes none.
func (r *Remedy) effect(f grading.Field) (Share, bool) {
	for i := range r.Effects {
		if r.Effects[i].Field == f {
			return r.Effects[i].Takes, true
		}
	}
	return Share{}, false
}

// fields are the fields that the remedy changes or is about.
func (r *Remedy) fields() fieldSet {
	var set fieldSet
	for i := range r.Effects {
		set |= bit(r.Effects[i].Field)
	}
	set |= grading.SetOf(r.About...)
	if r.Dries {
		set |= bit(grading.Moisture)
	}
	return set
}

// fieldSet is a set of grading fields.
type fieldSet = grading.FieldSet

func bit(f grading.Field) fieldSet { return grading.SetOf(f) }

// Remedies lists every remedy. The slice is the caller's; what it points to is
// shared and must not be changed.
func Remedies() []Remedy { return append([]Remedy(nil), table...) }

// RemedyOf finds a remedy by its ID; nil when there is none. It must not be
// changed.
func RemedyOf(id RemedyID) *Remedy {
	for i := range table {
		if table[i].ID == id {
			return &table[i]
		}
	}
	return nil
}
