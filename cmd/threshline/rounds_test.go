//go:build !race

package main

// How much the long tests play. The race detector makes each seed several times
// slower: with it fewer are played, and faults that take many to be found are left to
// runs without. What mostly waits is hit harder with it. KILLS in the environment says how
// often the program is killed.
const (
	usualSeeds     = 140
	someNewer      = 40
	slowPlants     = true
	programKills   = 10
	databasePhones = 100
)
