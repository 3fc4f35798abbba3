// Package session is what is stored of a programme's people, lots, checks and
// dialogues, and the contract by which an engine stores it.
package session
