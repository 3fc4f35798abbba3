// Package mem keeps a programme in memory, for tests and trials.
//
// It behaves as every engine does, snapshots and conflicts included, and forgets
// everything when it is closed.
package mem
