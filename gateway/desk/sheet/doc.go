// Package sheet makes the desk's tables of one check's readings and values, and of
// checks by hand.
package sheet
