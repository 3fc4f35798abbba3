// Package gsm knows what a basic phone can show and what it costs to send: the
// GSM 7-bit default alphabet with its extension table, septets, segments, and the
// folding of other letters to plain ones.
//
// Source of the alphabet: [TS-23.038]; of the segments: [TS-23.040].
//
// The national language shift tables are not used: none exists for an African
// language or for French, and whether handsets and message centres honour
// them is uncertain.
package gsm
