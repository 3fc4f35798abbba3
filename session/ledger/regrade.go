package ledger

import "sync"

// regraded keeps what a chunk's lots would be after each remedy.
type regraded struct{ mu sync.Mutex }
