package session

// Lease is work that one gateway does for all that share a store, from time to
// time: whoever took the work over has a larger Fence.
type Lease struct {
	Work  string
	Fence uint64 // 0: the work is not due, or another gateway's
}

// Held reports whether the work was begun.
func (l Lease) Held() bool { return l.Fence > 0 }
