// Package session holds the people, lots, checks and dialogues of a programme,
// and Step, the pure function that turns one message into what to store and
// what to answer. It reads no clock and does no input or output: the engines
// in store apply what a turn returns.
package session
