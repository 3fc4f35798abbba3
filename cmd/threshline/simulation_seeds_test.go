//go:build !race

package main

// usualSeeds are played by every run of the tests; the race detector makes each
// several times slower.
const usualSeeds = 200
