package session

import "time"

// The kinds of reminder that the dialogue sets.
const (
	RecheckKind    = "recheck"    // a remedy's date is due: is it done?
	UnfinishedKind = "unfinished" // a check was begun and left
	TallyKind      = "tally"      // an agent's week in numbers
	DigestKind     = "digest"     // a coordinator's week, on Monday morning
	AlertKind      = "alert"      // a lot that a coordinator is told of with others
	LookedKind     = "looked"     // no reminder: somebody looked a slip up, see LookedID
)

// RecheckID names the reminder to measure a lot again.
func RecheckID(slip Slip) ReminderID { return ReminderID("recheck:" + string(slip)) }

// UnfinishedID names the reminder of a person's checks that were begun.
func UnfinishedID(of PersonID) ReminderID { return ReminderID("unfinished:" + string(of)) }

// TallyID names the reminder that sends an agent the week in numbers.
func TallyID(of PersonID) ReminderID { return ReminderID("tally:" + string(of)) }

// DigestID names the reminder that sends a coordinator the week.
func DigestID(of PersonID) ReminderID { return ReminderID("digest:" + string(of)) }

// AlertOf makes the reminder that tells a coordinator of a check together with
// others: one message at each full hour.
func AlertOf(p *Person, slip Slip, at time.Time) Reminder {
	id := ReminderID("alert:" + string(p.ID) + ":" + string(slip))
	return Reminder{ID: id, Due: alertsAt(at), Kind: AlertKind, Person: p.ID, Phone: p.Phone, Slip: slip}
}

// alertsAt is when lots are told of with others that came at a time.
func alertsAt(at time.Time) time.Time { return at.Truncate(time.Hour).Add(time.Hour) }

// DigestOf is a coordinator's next digest.
func DigestOf(p *Person, due time.Time) Reminder {
	return Reminder{ID: DigestID(p.ID), Due: due, Kind: DigestKind, Person: p.ID, Phone: p.Phone}
}

// LookedID names the note that a phone looked up the slip of a lot that nobody
// may eat. When the lot is cleared, that phone gets a message. The note is kept
// with the reminders: it is deleted at its Due time, or when the phone is
// forgotten.
func LookedID(slip Slip, phone Phone) ReminderID {
	return ReminderID(LookedKind + ":" + string(slip) + ":" + string(phone))
}

// NoReminders returns the writes that cancel a person's reminders.
func NoReminders(of PersonID) []Reminder {
	return []Reminder{{ID: UnfinishedID(of), Cancel: true}, {ID: TallyID(of), Cancel: true}, {ID: DigestID(of), Cancel: true}}
}

// Midnight returns the start of the day in which a time falls, in a time zone.
func Midnight(at time.Time, zone *time.Location) time.Time {
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone)
}
