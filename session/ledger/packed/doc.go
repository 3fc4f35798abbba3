// Package packed keeps the readings of a check, and when each came, in as few bytes
// as is simple.
package packed
