package session

import (
	"maps"
	"slices"
	"time"

	"threshline/grading"
)

// ScreenID names a screen.
type ScreenID string

// Dialogue is one person's conversation: where it stands and what it holds.
// It is loaded, turned and stored whole by one exchange.
type Dialogue struct {
	Phone   Phone
	Version uint64 // 0 before it is stored. The engine counts it
	// Screen is the screen last shown; Trail lists the screens that "back" leads
	// to.
	Screen ScreenID
	Trail  []ScreenID
	Page   int
	// NetworkSession is the carrier's id of the USSD session under way.
	NetworkSession string
	// Dialled is when the last network session began; DialledAs is the carrier's
	// id for it; Reused says that an earlier session had this id.
	Dialled   time.Time
	DialledAs string
	Reused    bool
	// Heard counts the phone's messages since HeardSince: see HeardADay. Answered
	// counts the segments that answered them.
	Heard, Answered int
	HeardSince      time.Time
	// Drafts are checks under way; Current indexes the one being worked on,
	// -1 when none is.
	Drafts  []Draft
	Current int
	Memo    Memo
	// Last is when the last message came; Expires is when the dialogue is deleted.
	Last, Expires time.Time
	// Recent fingerprints the last few inputs and replies, to see a loop.
	Recent []uint64
	// Told holds fingerprints of how the last few SMS replies begin, also to see a
	// loop.
	Told []uint64
	// Wrong counts wrong slips in a row, the last at WrongSince. WrongCodes counts
	// wrong codes; a right slip does not reset it.
	Wrong      int
	WrongSince time.Time
	WrongCodes int
	CodesSince time.Time
}

// Empty reports whether nothing in the dialogue is worth keeping. An engine
// removes the record of an empty dialogue instead of storing it.
func (d *Dialogue) Empty() bool {
	return d.Screen == "" && len(d.Drafts) == 0 && d.Memo == (Memo{}) && d.Wrong == 0 && d.WrongCodes == 0 && d.Expires.IsZero()
}

// HeardADay returns how many messages came from the phone in the 24 hours since
// the first of them, and 0 when those are over.
func (d *Dialogue) HeardADay(now time.Time) int {
	if since := now.Sub(d.HeardSince); since < 0 || since >= 24*time.Hour {
		return 0
	}
	return d.Heard
}

// Hear counts one more message. From a quarter of the day's limit on (0 is no
// limit), the dialogue is kept until the day is over, so that the count is not
// lost. Answer does likewise.
func (d *Dialogue) Hear(now time.Time, most int) {
	if d.Heard = d.HeardADay(now) + 1; d.Heard == 1 {
		d.HeardSince, d.Answered = now, 0
	}
	if most > 0 && d.Heard >= most/4 {
		d.keepTheDay()
	}
}

// Answer counts what answers the last message, and reports whether the day's
// answers are still within a phone's share.
func (d *Dialogue) Answer(segments, share int) (within bool) {
	if d.Answered += segments; d.Answered >= share/4 {
		d.keepTheDay()
	}
	return d.Answered <= share
}

func (d *Dialogue) keepTheDay() {
	if end := d.HeardSince.Add(24 * time.Hour); d.Expires.Before(end) {
		d.Expires = end
	}
}

// TakeCounts takes over what another dialogue counted against too many messages and
// too many guesses.
func (d *Dialogue) TakeCounts(of Dialogue) {
	d.Heard, d.Answered, d.HeardSince = of.Heard, of.Answered, of.HeardSince
	d.Wrong, d.WrongSince, d.WrongCodes, d.CodesSince = of.Wrong, of.WrongSince, of.WrongCodes, of.CodesSince
}

// Clone returns a copy that shares nothing with the dialogue.
func (d Dialogue) Clone() Dialogue {
	d.Trail = slices.Clone(d.Trail)
	d.Recent, d.Told = slices.Clone(d.Recent), slices.Clone(d.Told)
	d.Drafts = slices.Clone(d.Drafts)
	for i := range d.Drafts {
		draft := &d.Drafts[i]
		draft.Readings = draft.Readings.Clone()
		draft.Paces = maps.Clone(draft.Paces)
		draft.Skipped = slices.Clone(draft.Skipped)
		draft.Sure = slices.Clone(draft.Sure)
	}
	return d
}

// Draft is a check under way.
type Draft struct {
	Lot      Lot
	Readings grading.Readings
	Started  time.Time
	Touched  time.Time
	Paces    map[grading.Field]int
	// Screen is where to take the draft up again.
	Screen ScreenID
	// Correcting says that the person is correcting from the summary and returns to it.
	Correcting bool
	// Skipped are fields the person said they cannot measure on this lot.
	Skipped []grading.Field
	// Sure lists the doubts that the person was asked about and confirmed.
	Sure     []string
	Recheck  Slip // of which check this is a re-check
	Corrects Slip // which check this replaces
	Reminded bool
}
