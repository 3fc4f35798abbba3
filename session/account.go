package session

import (
	"time"

	"threshline/grading"
)

// AccountID names an account record. The part before the slash is its kind, so
// that IDs of two kinds are never mistaken for each other.
type AccountID string

// AccountKind is what an account record stands for.
type AccountKind string

// The kinds of account record.
const (
	// DeskPerson signs in with a name and a password.
	DeskPerson AccountKind = "person"
	// DeskToken lets a program in, within its scopes.
	DeskToken AccountKind = "token"
	// DeskSignIn is one browser that a person has signed in with.
	DeskSignIn AccountKind = "sign-in"
	// DeskLink lets somebody choose a name and password, once.
	DeskLink AccountKind = "link"
	// DeskCode is a code by which a phone takes over somebody's record
	// (Invite.Person); nobody signs in with it. It ends with whoever made it.
	DeskCode AccountKind = "code"
	// DeskMeter is a moisture meter that the desk keeps; nobody signs in with it.
	DeskMeter AccountKind = "meter"
)

// DeskRole is what somebody may do at the desk; it is not a Role, which is
// what a phone may do.
type DeskRole string

// The roles at the desk. Each may do what those before it may.
const (
	DeskViewer        DeskRole = "viewer"        // no personal data
	DeskCoordinator   DeskRole = "coordinator"   // personal data of its districts
	DeskAdministrator DeskRole = "administrator" // also people, tokens, settings, the audit log
)

// Account is a record that the desk keeps: who may use it or its interface for
// programs, and how they prove it; or a meter. It never holds a password, token
// or cookie, only the hash by which one is recognised.
type Account struct {
	ID      AccountID
	Version uint64 // of the record; 0 before it is stored. The engine counts it
	Kind    AccountKind
	Name    string // chosen at sign-up, or what the token is for, or where a sign-in came from
	Role    DeskRole
	// Districts limits what is shown; empty means all districts.
	Districts []string
	// Scopes limits what a token may do.
	Scopes []string
	// Secret is the password's hash with its parameters, or the digest of a
	// token's, cookie's or link's random bits.
	Secret string
	// Factor is what the codes of a person's second factor are made from, in
	// base32; empty when there is none. FactorStep is the time step of the last
	// accepted code: no code is accepted twice. Recovery holds the digests of the
	// recovery codes; each works once.
	Factor     string
	FactorStep int64
	Recovery   []string
	// Of is the account that signed in, or that made this one.
	Of AccountID
	// Made is when it was made; Expires is when it stops working, zero for never;
	// Ended is when it was revoked or used up, zero while it is in use.
	Made, Expires, Ended time.Time
	// Meter is what is known of a moisture meter, in a record of that kind; Ended
	// is when it was retired.
	Meter MeterCheck
	// Remove, in Writes, takes the record away for good.
	Remove bool
}

// MeterCheck is what a check of a moisture meter beside an oven gave.
type MeterCheck struct {
	// Bias is meter minus oven, Doubt its standard deviation, points.
	Bias, Doubt grading.Decimal
	// CheckedOn and GoodUntil are days, "2026-10-01", the last one included; ""
	// where nobody says.
	CheckedOn, GoodUntil string
}

// Usable reports whether the account still lets anybody in at a time.
func (a *Account) Usable(at time.Time) bool {
	return a.Ended.IsZero() && (a.Expires.IsZero() || at.Before(a.Expires))
}
