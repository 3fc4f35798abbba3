// Package grading turns what was measured of a lot of paddy into its grade by a
// standard, and says how sure that is: Grade decides, Assess adds the chances, Try
// grades a lot as it would be.
//
// All that there is to know of a reading stands in one table, and what a standard
// limits is data. Arithmetic is exact decimal until a limit is met; chances are
// floating point. The package reads no clock, file or network.
package grading
