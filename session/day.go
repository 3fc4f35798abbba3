package session

import "time"

// Midnight begins a time's day in a zone.
func Midnight(at time.Time, zone *time.Location) time.Time {
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, zone)
}
