// Package dispatch works off the outgoing queue: it hands messages to
// carriers at the pace they allow, tries again when they fail, keeps to quiet
// hours, validity, a person's STOP and the daily budget, and turns due
// reminders into exchanges.
//
// It delivers at least once. A message is marked handed on only after the
// carrier took it, so a crash between the two hands it on again, with the
// same client reference (its [session.OutgoingID]), by which a carrier can
// drop the second. The package reads no clock of its own: time and ticks are
// handed in.
package dispatch
