package screen

import "threshline/session"

// spearing is how many bags to spear and which: every so-many-th from a start.
type spearing struct{ count, start, every int }

// fewest is how many bags are always all speared, and how many of more.
// Source: [AOAC-FEED], "1 to 10 all, 11 and more: 10".
const fewest = 10

// plan says which bags to spear. The start is drawn from the time the check
// began, so that it stays the same however often it is asked for and nobody
// chooses the bags.
func plan(t *session.Talk, draft *session.Draft) spearing {
	bags := draft.Lot.Bags
	if bags <= fewest {
		return spearing{bags, 1, 1}
	}
	every := bags / fewest
	return spearing{fewest, 1 + int(uint64(draft.Started.UnixNano()/1000)%uint64(every)), every}
}
