package session

import "threshline/grading"

// Memo is what a dialogue remembers from one message to the next. It shares
// nothing with a copy of it.
type Memo struct {
	// Lead is a line said before the screen, until the next entry.
	Lead string
	// Refused says that Lead tells what was wrong with an entry.
	Refused bool
	// Asked says that a reminder asked for a reading: the answer may take days.
	Asked bool
	// Language was chosen, and Invitation came, before anything was agreed to.
	Language   Language
	Invitation string
	// StopTold says that a stopped person was told how to start again.
	StopTold bool
	// Unfinished says that the reminder of checks that were begun is set.
	Unfinished bool
	// Shape is a fingerprint of the last text without its numbers; Shapes counts
	// such texts in a row.
	Shape  uint64
	Shapes int
	// Strays counts long texts in a row that no screen took.
	Strays int
	// Whole is the last input of a carrier that repeats the whole dialogue each
	// time, in the network session WholeOf.
	WholeOf, Whole string

	// First is a whole check that came before anything was agreed to, until it can be
	// answered.
	First string

	// What one screen leaves for another.
	Question      string          // what an entry may mean, asked back
	Meant         string          // the entry that it then is
	MeantAt       ScreenID        // the screen that takes it
	Otherwise     string          // the entry if not; "" asks anew
	Slip          Slip            // of the check that is shown
	Looked        string          // what the last slip gave
	Grower        PersonID        // who is shown
	Search        string          // letters of a name searched for
	ForCheck      bool            // whoever is found is to have a check begun
	Name, Village string          // of a grower being added
	Short         int             // likewise
	Sign          string          // what the hand test showed
	DryFrom       grading.Decimal // moisture of the lot to dry, % wet basis
	DryKG         grading.Decimal // its kg
	DryKeep       int             // how long it is to keep: the number of a line
}

// texts returns all texts in which somebody's name or number can stand.
func (m *Memo) texts() []*string {
	return []*string{&m.Lead, &m.Invitation, &m.WholeOf, &m.Whole, &m.First, &m.Question, &m.Meant, &m.Otherwise, &m.Looked, &m.Search, &m.Name, &m.Village, &m.Sign}
}
