// Package desk is the coordinator's desk: server-rendered pages over the ledger
// of filed checks, what can be exported from it, and the interface for programs
// (/admin/v1).
//
// It decides nothing about paddy; it shows what grading, advice and the ledger
// decided.
//
// Pages are English, work without a script, and print. Nothing is loaded from
// elsewhere. A visitor who may not see personal data gets pseudonyms from the
// same handlers: the data never reaches their page. Reads of personal data and
// every change go to the audit log.
//
// The way of a request: [Desk.ServeHTTP] sets the headers and refuses what
// another site sent; package access finds who asks and whether they may; a
// handler per page builds plain values, and a template of package paper says
// them. The handlers stand on a small desk for each matter (routes.go), which holds
// only what it needs.
package desk
