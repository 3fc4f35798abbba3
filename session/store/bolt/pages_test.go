package bolt_test

import (
	"encoding/binary"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"go.etcd.io/bbolt"

	"threshline/session/store/bolt/pages"
)

// Whatever the library writes passes the walk: entries are put and taken out at random,
// one by one and in runs, so that pages split, merge and get other first keys.
func TestWhatTheLibraryWritesPasses(t *testing.T) {
	for seed := range uint64(4) {
		random := rand.New(rand.NewPCG(seed, 1))
		path := filepath.Join(t.TempDir(), "store.db")
		db, err := bbolt.Open(path, 0o600, &bbolt.Options{NoSync: true, NoFreelistSync: seed%2 == 0})
		if err != nil {
			t.Fatal(err)
		}
		for range 250 {
			if err := db.Update(func(tx *bbolt.Tx) error { return churn(tx, random) }); err != nil {
				t.Fatal(err)
			}
			walk(t, path)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func churn(tx *bbolt.Tx, random *rand.Rand) error {
	b, err := tx.CreateBucketIfNotExists([]byte{byte('a' + random.IntN(3))})
	if err != nil {
		return err
	}
	b.FillPercent = []float64{0.5, 0.9, 1}[random.IntN(3)]
	key := func() []byte {
		return binary.BigEndian.AppendUint64(make([]byte, 0, 40), uint64(random.IntN(5000)))[:8+random.IntN(32)]
	}
	for range random.IntN(200) {
		switch chance := random.IntN(100); {
		case chance < 50:
			err = b.Put(key(), make([]byte, random.IntN(600)))
		case chance < 98:
			if k, _ := b.Cursor().Seek(key()); k != nil {
				err = b.Delete(k)
			}
		default:
			c := b.Cursor()
			k, _ := c.Seek(key())
			for i := 0; i < 300 && k != nil && err == nil; i++ {
				err = c.Delete()
				k, _ = c.Next()
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func walk(t *testing.T, path string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err == nil {
		err = pages.Walk(f, info.Size())
	}
	if err != nil {
		t.Fatal(err)
	}
}
