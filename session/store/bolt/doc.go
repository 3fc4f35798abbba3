// Package bolt keeps a programme in one file, for one gateway on one
// machine. Exchanges run side by side on read snapshots; one committer writes
// what they ask for, in groups, with one synced commit for everything that
// queued while the last one was syncing. Nobody waits for a group to fill.
//
// It decides nothing about lots, people or messages: what a turn returns is
// applied whole or not at all.
package bolt
