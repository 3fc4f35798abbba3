//go:build race

package main

const (
	usualSeeds     = 16
	someNewer      = 4
	slowPlants     = false
	programKills   = 20
	databasePhones = 200
)
