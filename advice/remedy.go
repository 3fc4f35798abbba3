package advice

import (
	"slices"

	"threshline/grading"
)

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
// this lot it is weight taken out of the bag; for the next season it is how much
// less of it the next lot is expected to hold.
type Effect struct {
	Field  grading.Field
	Takes  Share
	Trust  Trust
	Source string
	// Aside says that it comes with the remedy but does not call for it.
	Aside bool
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

// Task names work of which one remedy is enough.
type Task string

// The tasks.
const (
	Drying     Task = "dry"
	Winnowing  Task = "winnow"
	StonesAway Task = "stones" // those of a grain's size
)

// Alive says what of live insects a remedy wants: anything, one that was seen,
// or none.
type Alive uint8

// The cases of Alive.
const (
	AnyInsects Alive = iota
	InsectsSeen
	NoInsects
)

// Origin is where what a season remedy is about comes from; "" anywhere.
type Origin string

// The origins.
const (
	FromStore Origin = "store"
	FromField Origin = "field"
)

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
	// Insects narrows Flags; so does IfNotWet, which leaves a lot that is known to
	// be wet to drying.
	Insects  Alive
	IfNotWet bool
	// From is where its cause lies: it is left out where the lot shows the other.
	From  Origin
	Cause CauseID
	Tool  ToolID
	Task  Task
	Work  Work
	// Paid says that somebody else's machine is paid for, or something bought: see
	// Settings.Tariffs. PaidAs is the remedy whose tariff counts, where it is not
	// its own. Sown says that it is seed: see Settings.Seed.
	Paid, Sown bool
	PaidAs     RemedyID
	// LargestKG is the largest lot it is sensible for; 0 any.
	LargestKG float64
	// Beyond names the work by hand that it takes the place of: for a lot too
	// large for that, a paid machine is named even where its fee is not known.
	Beyond RemedyID
	// InSun says that the lot is spread in the sun: whatever that is done for, it
	// is done once.
	InSun bool
	// DueDays is by when, days from the check; 0 today, -1 no date. Lasts is how
	// many days it takes after that until the lot can be looked at again.
	DueDays, Lasts int
	// Waits says that it fits any lot, and only waits for what comes before it;
	// Measures that it fits any lot that is close to a limit.
	Waits, Measures bool
	// Meanwhile is what to do with the lot at hand when this is for the next
	// season, and MeanwhileOut with one that is out of grade; "" is SellAsIs, and
	// Meanwhile.
	Meanwhile, MeanwhileOut RemedyID
	Cautions                []CautionID
	Source                  string // tag, or NoSource
	Trust                   Trust
}

// Changes reports whether it changes what is measured of a lot.
func (r *Remedy) Changes() bool { return len(r.Effects) > 0 || r.Dries }

// acts reports whether it changes this lot, or the next.
func (r *Remedy) acts() bool { return r.When == NextSeason || r.Changes() }

// AlikeIn reports whether two remedies change the readings alike.
func (r *Remedy) AlikeIn(other *Remedy) bool {
	return r.When == other.When && r.Dries == other.Dries && slices.EqualFunc(r.Effects, other.Effects,
		func(x, y Effect) bool { return x.Field == y.Field && x.Takes == y.Takes })
}

// calls are the fields that call for the remedy.
func (r *Remedy) calls() fieldSet {
	set := r.fields()
	for i := range r.Effects {
		if r.Effects[i].Aside {
			set &^= bit(r.Effects[i].Field)
		}
	}
	return set
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
