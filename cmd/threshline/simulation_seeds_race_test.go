//go:build race

package main

const (
	usualSeeds = 16
	slowPlants = false
)
