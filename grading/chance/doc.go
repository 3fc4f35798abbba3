// Package chance says how sure a lot's grade is, and what would make it surer.
//
// Assess grades and adds the chances, Try grades a lot as it would be, Settle is
// what to measure more, and UsualOf learns what lots usually hold. Grades come
// from grading, in exact decimals; chances are floating point. The package reads
// no clock, file or network.
package chance
