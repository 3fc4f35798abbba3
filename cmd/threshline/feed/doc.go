// Package feed keeps a ledger up to date with the store, and reckons ahead what
// pages and phones ask of it.
package feed
