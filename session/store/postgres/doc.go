// Package postgres keeps everything in a PostgreSQL database, which several
// gateways may share.
//
// Its contract is the one of package session: what an exchange writes is
// committed, and synced, before the reply is known.
//
// An exchange is two round trips: one reads what a turn asks, on a snapshot that
// stays open while the turn runs (migration/0010_asks.sql), one checks and writes all
// in one transaction (migration/0012_recall.sql). The first is left out for a phone
// that was served lately (recall.go). Both also carry the other exchanges that wait at
// that moment.
package postgres
