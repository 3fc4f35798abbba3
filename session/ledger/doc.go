// Package ledger reads the filed checks of a programme together: what grades
// the lots made, what held them down, what would change if one remedy were
// done everywhere, and which reports deserve a second look.
//
// It keeps every check in columns in memory and is filled by whoever owns the
// store, at start and as checks are filed. It does no input or output, reads no
// clock and draws no random number: the same checks give the same answers,
// counts and sums in whatever order they were applied. It names nobody and accuses nobody; its
// findings are reason ids with figures, for a person to weigh.
package ledger
