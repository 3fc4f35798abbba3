package programme

import (
	"cmp"
	"time"

	"threshline/advice"
	"threshline/grading"
	"threshline/session"
)

// Weeks are a programme's weeks as they were last worked out. Nothing changes them once
// they are handed in.
type Weeks struct {
	Running SevenDays // up to the day of the reckoning
	Whole   SevenDays // the last from Monday to Sunday
}

// SevenDays is seven days, by district; "" is all districts together. A district that
// is missing had no check.
type SevenDays struct {
	Last      time.Time // the seventh day, where the programme is
	Districts map[string]Week
}

// Week is the result of seven days in a district.
type Week struct {
	Checks, Before int // with the kit, filed in the seven days, and in the seven before
	ByHand         int // checks by hand of the seven days; of the fields below only Visits counts them
	// Lots are those whose newest check is of the seven days and of the newest edition
	// of the procedure in them. All fields below but Visits count these. Older are
	// those of an older edition.
	Lots, InGrade, Older int
	// Deciding is what holds down most grades, Held of them; "" if nothing does.
	Deciding grading.ParameterID
	Held     int
	// Remedy is what would lift most lots if it were done to all lots of the week:
	// Lifts of them; "" if none would lift any.
	Remedy advice.RemedyID
	Lifts  int
	// Visits is how many lots of the week are in danger by their last check. Newest are
	// as many of them as a phone lists, newest first.
	Visits int
	Newest []session.Slip
}

// Digests is a turn that sets the next digest of every coordinator who is to have one.
// It changes nothing for those who have theirs set, and so can run at any time once
// what was due at now is done; now is to be later than any clock that may have sent
// this week's.
func (p *Programme) Digests(now time.Time) session.Turn {
	return func(v session.View) (session.Writes, error) {
		w := session.Writes{Reply: session.Reply{Silent: true}}
		people, err := v.Coordinators()
		for i := range people {
			if people[i].GetsDigest() {
				w.Reminders = append(w.Reminders, session.DigestOf(&people[i], p.NextMonday(now)))
			}
		}
		return w, err
	}
}

// NextMonday returns the next Monday at eight in the morning, where the programme is.
func (p *Programme) NextMonday(after time.Time) time.Time {
	zone := cmp.Or(p.Zone, time.UTC)
	local := after.In(zone)
	days := (8 - int(local.Weekday())) % 7
	for {
		due := time.Date(local.Year(), local.Month(), local.Day()+days, 8, 0, 0, 0, zone)
		if due.After(after) {
			return due
		}
		days += 7
	}
}
