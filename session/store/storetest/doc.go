// Package storetest holds what every storage engine must do, as one suite of
// tests, and sample records for tests of engines and of what stands on them.
//
// Random runs are held against plain models, each a page long: ledger in together.go
// says what is left once many phones have exchanged at once (dialogues, people,
// replies, checks, messages), list.go which people and checks are listed in which
// order, coordinators.go who the coordinators are. What a whole programme must hold
// over any engine, with its loops, money and clock, is no matter of an engine.
package storetest
