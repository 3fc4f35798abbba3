// Package grading turns what was measured of a lot of paddy into its grade by a
// standard, and says how sure that is: Grade decides, Assess adds the chances, Try
// grades a lot as it would be.
//
// Everything about a reading stands in one table, and the limits of a standard
// are data. Arithmetic is exact decimal until a limit is met; chances are
// floating point. The package reads no clock, file or network.
package grading
