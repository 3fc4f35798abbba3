package bolt

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/fnv"
	"os"
	"path/filepath"
	"testing"
	"time"

	"threshline/session"
	"threshline/session/store/disk"
)

// Where things lie in a page, in bytes.
const (
	pageHead     = 16
	pageFlags    = 8
	branchPage   = 0x01
	leafPage     = 0x02
	metaSize     = 64
	metaPageSize = 8
	metaRoot     = 16
	metaFree     = 32
	metaPages    = 40
	metaSum      = 56
)

// calledWhole is a file whose first pages are called whole again, as whoever forges
// one would do. Nothing else of a file has a sum.
func calledWhole(data []byte) []byte {
	for _, at := range []int{pageHead, 4096 + pageHead} {
		if len(data) >= at+metaSize {
			sum := fnv.New64a()
			sum.Write(data[at : at+metaSum])
			binary.LittleEndian.PutUint64(data[at+metaSum:], sum.Sum64())
		}
	}
	return data
}

// oldStores are small stores of every schema.
func oldStores(tb testing.TB) [][]byte {
	files, err := filepath.Glob("../../../testdata/store/v*.db")
	if err != nil || len(files) == 0 {
		tb.Fatalf("no stores: %v", err)
	}
	all := make([][]byte, len(files))
	for i, file := range files {
		if all[i], err = os.ReadFile(file); err != nil {
			tb.Fatal(err)
		}
	}
	return all
}

// patch says what to write over a store: a place in it and 8 bytes, again and again.
func patch(b []byte, at int, v uint64) []byte {
	return binary.LittleEndian.AppendUint64(binary.LittleEndian.AppendUint16(b, uint16(at)), v)
}

// patched is a store with its patches; with none of ours, what is in them alone.
func patched(stores [][]byte, which byte, patches []byte) []byte {
	if int(which) >= len(stores) {
		return bytes.Clone(patches)
	}
	b := bytes.Clone(stores[which])
	for ; len(patches) >= 10; patches = patches[10:] {
		copy(b[int(binary.LittleEndian.Uint16(patches))%len(b):], patches[2:10])
	}
	return calledWhole(b)
}

// astray are patches that lead a reader astray.
func astray(length int) [][]byte {
	all := [][]byte{nil}
	for _, meta := range []int{pageHead, 4096 + pageHead} {
		all = append(all, patch(nil, meta+metaRoot, 0), patch(nil, meta+metaPages, 1<<60),
			patch(nil, meta+metaFree, 3), patch(nil, meta+metaPageSize, 1<<12|7<<32))
	}
	for page := 2 * 4096; page < length; page += 4096 {
		self := patch(patch(nil, page+pageFlags, branchPage|1<<16), page+pageHead+8, uint64(page/4096))
		all = append(all, self, patch(nil, page, 7), patch(nil, page+pageFlags, leafPage|0xffff<<16),
			patch(nil, page+pageHead, 0xffffffff), patch(nil, page+pageHead+8, 1<<31|1<<63))
	}
	return all
}

// FuzzRestore: whatever a backup holds, restoring it ends with a store that
// opens, serves and verifies, or with an error and no file; and it never takes
// the place of a store that is there.
func FuzzRestore(f *testing.F) {
	stores := oldStores(f)
	for i, b := range stores {
		for _, patches := range astray(len(b)) {
			f.Add(byte(i), patches)
		}
	}
	f.Add(byte(255), []byte("not a store"))
	f.Fuzz(func(t *testing.T, which byte, patches []byte) {
		data := patched(stores, which, patches)
		ctx, dir := context.Background(), t.TempDir()
		path, there := filepath.Join(dir, "restored.db"), filepath.Join(dir, "there.db")
		if err := os.WriteFile(there, []byte("a store"), disk.Mode); err != nil {
			t.Fatal(err)
		}
		if err := Restore(ctx, there, bytes.NewReader(data), false); !errors.Is(err, os.ErrExist) {
			t.Fatalf("over a file that is there: %v", err)
		}
		if b, err := os.ReadFile(there); err != nil || string(b) != "a store" {
			t.Fatalf("a file that was there holds %q, %v", b, err)
		}
		if err := Restore(ctx, path, bytes.NewReader(data), false); err != nil {
			left, _ := filepath.Glob(filepath.Join(dir, "restored*"))
			if len(left) != 0 {
				t.Fatalf("%v, and %q are left", err, left)
			}
			return
		}
		serves(t, path)
	})
}

// serves opens a restored store. An older layout, of which only the pages were
// verified, may still be refused; a newer one is.
func serves(t *testing.T, path string) {
	s, err := Open(path, Options{Map: 1 << 15})
	if err != nil {
		var fault *Fault
		if !errors.As(err, &fault) && !errors.Is(err, ErrDamaged) {
			t.Fatalf("open: %v", err)
		}
		return
	}
	defer s.Close()
	key := session.Key{Phone: "+33639981234", Duplicate: "valley-ussd fuzz", KeepUntil: time.Unix(1_900_000_000, 0)}
	_, err = s.Exchange(context.Background(), key, func(v session.View) (session.Writes, error) {
		d, err := v.Dialogue(key.Phone)
		d.Phone, d.Screen = key.Phone, "menu"
		return session.Writes{Dialogue: &d}, err
	})
	if err != nil {
		t.Logf("exchange: %v", err)
	}
	if _, err := s.Sweep(context.Background(), time.Unix(1_900_000_000, 0), 100); err != nil {
		t.Logf("sweep: %v", err)
	}
	_ = s.Verify(context.Background())
}
