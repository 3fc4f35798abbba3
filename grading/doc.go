// Package grading turns what was measured of a lot of paddy into its grade by a
// standard.
//
// Everything about a reading stands in one table, and the limits of a standard
// are data. Arithmetic is exact decimal until a limit is met. The package reads no
// clock, file or network.
package grading
