package session

import (
	"slices"
	"strings"
	"time"
)

// Phone is who a message came from or goes to: E.164 with a leading plus for
// a telephone number ("+33639981234"), or a short code or a word exactly as
// the carrier gave it. Only the first kind can be answered.
type Phone string

// Answerable reports whether an outgoing message can be addressed to p.
func (p Phone) Answerable() bool { return len(p) > 7 && p[0] == '+' }

// String masks the number, so that no log or page shows it by accident:
// "+336***34". The whole number is string(p).
func (p Phone) String() string {
	if len(p) < 8 {
		return "***"
	}
	return string(p[:4]) + "***" + string(p[len(p)-2:])
}

// Language is a wording catalogue's code, such as "sw".
type Language string

// PersonID identifies a person for as long as the record is kept; it survives
// a change of number. Empty means nobody.
type PersonID string

// Role is what a person may do.
type Role string

// The roles.
const (
	Grower      Role = "grower"
	Agent       Role = "agent"
	Buyer       Role = "buyer"
	Coordinator Role = "coordinator"
)

// Person is somebody we know: a person who wrote to us, or a grower of an
// agent, who may have no phone.
type Person struct {
	ID                PersonID
	Version           uint64 // of the record; 0 before it is stored. The engine counts it
	Phone             Phone  // empty for a grower without a phone
	Role              Role
	Name              string
	District, Village string
	Language          Language
	// Agent looks after this grower; Short is the agent's number for them, 1 to 99.
	Agent PersonID
	Short int
	// Consent says what the person agreed to; the zero value is not asked yet.
	Consent Consent
	// Stopped is when the person texted STOP; zero if they did not.
	Stopped time.Time
	// Kit is what the person has to measure with.
	Kit Kit
	// NoDigest says that a coordinator does not want the week by SMS.
	NoDigest bool
	// Named says that an agent agreed to be named, with their number, to growers
	// nearby who have no kit.
	Named bool
	// Joined is when the record was made.
	Joined time.Time
	// Forgotten says that name and number were removed at the person's wish.
	Forgotten bool
}

// LongestName is how many letters of a name or village are kept.
const LongestName = 24

// NoAddress removes the dots that a phone would turn into a link, as in "www.":
// dots without a space after them. The dot of an initial stays.
func NoAddress(name string) string {
	letters := []rune(name)
	for i, r := range letters {
		if r == '.' && i+1 < len(letters) && letters[i+1] != ' ' {
			letters[i] = ' '
		}
	}
	return strings.Join(strings.Fields(string(letters)), " ")
}

// Coordinates reports whether the person coordinates a district: their own, or
// every district when they have none. A lot without a known district belongs to
// every coordinator.
func (p *Person) Coordinates(district string) bool {
	return p.Role == Coordinator && (p.District == "" || district == "" || p.District == district)
}

// MayChange reports whether the person may change by phone what is known of
// another: an agent of their own growers, a coordinator of growers and agents
// of their own district, or of all when they have none. Every coordinator may
// change a grower without a known district.
func (p *Person) MayChange(other *Person) bool {
	switch {
	case other.Role == Grower && other.Agent == p.ID:
		return true
	case p.Role != Coordinator || other.Role != Grower && other.Role != Agent:
		return false
	}
	return p.District == "" || other.District == p.District || other.Role == Grower && other.District == ""
}

// MayInvite reports whether the person may let somebody join by a code: a
// coordinator agents and buyers, an agent buyers.
func (p *Person) MayInvite(role Role) bool {
	switch role {
	case Agent:
		return p.Role == Coordinator && !p.Forgotten
	case Buyer:
		return (p.Role == Coordinator || p.Role == Agent) && !p.Forgotten
	}
	return false
}

// Writable reports whether the person may get messages that they did not ask
// for.
func (p *Person) Writable() bool {
	return p.Stopped.IsZero() && !p.Forgotten && p.Phone.Answerable() && p.Consent.Given
}

// GetsDigest reports whether the person gets the week's figures without asking.
func (p *Person) GetsDigest() bool { return p.Role == Coordinator && p.Writable() && !p.NoDigest }

// NamedIn is the district in which growers who have no kit are told this person's
// name and number; false for one who is not told: no agent, not agreed, or gone.
func (p *Person) NamedIn() (district string, ok bool) {
	return p.District, p.Named && p.Role == Agent && p.District != "" && p.Writable()
}

// Anonymous returns what is kept of a person who is forgotten: nothing that
// says who they are.
func (p Person) Anonymous() Person {
	p.Name, p.Phone, p.Village, p.Forgotten = "", "", "", true
	p.Consent.Given, p.Named = false, false
	return p
}

// Consent is an answer to the consent text of one version.
type Consent struct {
	Version int
	Given   bool
	At      time.Time
}

// Tool is something to measure with that a person may lack.
type Tool string

// The tools that a check needs.
const (
	Meter  Tool = "meter" // moisture meter
	Scale  Tool = "scale" // scale that weighs 20 g
	Sieves Tool = "sieves"
	Husker Tool = "husker"
	Pan    Tool = "pan" // counting pan of 100 hollows
)

// Kit is what a person measures with. The zero value has everything.
type Kit struct {
	Lacks []Tool
	// ScaleStep is the scale's smallest step in ten-thousandths of a gram;
	// 0 is the programme's default.
	ScaleStep int64
	// Meter names one of the programme's meters; "" is an unknown meter.
	Meter string
}

// Has reports whether the kit holds the tool.
func (k Kit) Has(t Tool) bool {
	return !slices.Contains(k.Lacks, t)
}
