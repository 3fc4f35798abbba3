// Package programme is what a programme decides about lots and people: it reads
// no clock and does no input or output.
package programme

import (
	"cmp"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/grading/sampling"
	"threshline/session"
)

// Programme is how a programme is set up. The dialogue reads it, and nothing changes it
// while it is in use; a reload makes a new one.
type Programme struct {
	Name      string
	Region    string // ISO 3166 code, for numbers written without a country code
	Languages []session.Language
	Currency  string
	Zone      *time.Location
	BagKG     grading.Decimal // what a bag holds when nobody says otherwise; 0 unknown
	Standard  *grading.Standard
	Advice    advice.Settings
	Districts []string
	// Meters are those that were checked. OneMeter stands for all others, if the
	// programme has one kind of meter and knows how that kind reads.
	Meters   []Meter
	OneMeter grading.Meter
	// SamplingPlan names a plan of package sampling; if it is empty, the purpose
	// decides. SamplingPurpose is buying if it is empty.
	SamplingPlan, SamplingPurpose string
	// ConsentVersion is raised when the consent text changes: people are asked again.
	ConsentVersion int
	// ResumeFor is how long a dropped dialogue can be taken up where it stood.
	ResumeFor time.Duration
	// DraftFor is how long an unfinished check is kept after it was last touched.
	DraftFor time.Duration
	// CorrectFor is how long a filed check can be corrected or withdrawn by phone.
	CorrectFor time.Duration
	// KeepPeopleFor is how long names and numbers are kept of people from whom nothing
	// is heard; 0 keeps them for good.
	KeepPeopleFor time.Duration
	// KitAt says in the programme's own words where a grower finds somebody with the
	// kit, when no agent nearby agreed to be named; may be empty.
	KitAt string
	// ShortCode is how people reach us, for texts that say so; may be empty.
	ShortCode string
}

// How long things are kept when a programme does not say. Source: assumed.
const (
	defaultResume  = 2 * time.Hour
	defaultDraft   = 72 * time.Hour
	defaultCorrect = 24 * time.Hour
)

func (p *Programme) ResumeWithin() time.Duration { return cmp.Or(p.ResumeFor, defaultResume) }
func (p *Programme) DraftWithin() time.Duration  { return cmp.Or(p.DraftFor, defaultDraft) }

// CorrectWithin is how long a filed check can be corrected or withdrawn.
func (p *Programme) CorrectWithin() time.Duration { return cmp.Or(p.CorrectFor, defaultCorrect) }

// Sampling is the plan by which bags are speared, and what it was chosen for.
func (p *Programme) Sampling() sampling.Choice {
	c, err := sampling.Choose(sampling.PlanID(p.SamplingPlan), sampling.Purpose(p.SamplingPurpose))
	if err != nil { // the configuration was refused before
		c, _ = sampling.Choose("", "")
	}
	return c
}

// OutOfForce reports whether the standard was not in force on the day of a check
// that was graded by it.
func (p *Programme) OutOfForce(c *session.Check) bool {
	s := p.Standard
	return c.StandardID == s.ID && !s.InForce(c.At.In(cmp.Or(p.Zone, time.UTC)).Format(time.DateOnly))
}

// Agreed reports whether a person agreed to the consent text in force, by their
// own phone or through their agent.
func (p *Programme) Agreed(who *session.Person) bool {
	return who.ID != "" && who.Consent.Given && who.Consent.Version >= p.ConsentVersion && !who.Forgotten
}
