package session

import "time"

// Midnight returns the start of the day in which a time falls, in a time zone.
func Midnight(at time.Time, zone *time.Location) time.Time {
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone)
}
