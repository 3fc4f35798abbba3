// Package packed keeps the slip and the readings of a check, and when each came, in as
// few bytes as is simple.
package packed
