//go:build !race

package main

// The race detector makes each seed several times slower: with it fewer are played,
// and faults that take many to be found are left to runs without.
const (
	usualSeeds = 140
	someNewer  = 40
	slowPlants = true
)
