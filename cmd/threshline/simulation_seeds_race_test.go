//go:build race

package main

const (
	usualSeeds = 16
	someNewer  = 4
	slowPlants = false
)
