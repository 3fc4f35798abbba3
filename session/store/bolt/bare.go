package bolt

import (
	"context"
	"slices"

	"go.etcd.io/bbolt"
)

// bareBucket holds what Bare puts. Stores in use do not have it.
var bareBucket = []byte("bare")

// Bare puts one value under a key, through the same grouped and synced commit
// as an exchange and with nothing else. It is there for benchmarks: it is the
// ceiling that an exchange is measured against. Nothing reads it back.
func (s *Store) Bare(ctx context.Context, key, value []byte) error {
	return s.submit(ctx, &bare{key, value})
}

type bare struct{ key, value []byte }

func (b *bare) check(*bbolt.Tx) error { return nil }

func (b *bare) write(tx *bbolt.Tx) error {
	bucket, err := tx.CreateBucketIfNotExists(bareBucket)
	if err != nil {
		return err
	}
	return bucket.Put(b.key, sealed(b.key, slices.Clip(b.value)))
}
