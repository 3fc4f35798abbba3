//go:build unix && !linux

package cluster

// memory is a folder in memory; no test needs one.
func memory() string { return "" }
