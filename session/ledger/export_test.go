package ledger

// Shown and ThreeAlike are open to the tests that draw what they reckon.
var (
	Shown      = shown
	ThreeAlike = threeAlike
)
