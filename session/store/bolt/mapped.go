package bolt

import (
	"context"
	"fmt"

	"go.etcd.io/bbolt"
)

// LetGo gives back what reading has mapped of the file into this process, so
// that it does not count as the process's memory. Nothing is lost or slowed
// much: the kernel goes on keeping the pages for whoever reads them next, us
// too, as long as it has room. Where that cannot be said to the system, nothing
// is done.
func (s *Store) LetGo(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	err := s.db.View(func(tx *bbolt.Tx) error { // holds the mapping where it is
		return letGo(s.db.Info().Data, tx.Size())
	})
	if err != nil {
		return fmt.Errorf("bolt: let go of the mapped file: %w", err)
	}
	return nil
}
