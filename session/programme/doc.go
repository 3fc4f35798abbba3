// Package programme is what a programme decides about lots and people: it reads
// no clock and does no input or output.
package programme
