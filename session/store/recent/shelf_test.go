package recent

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// A plain model: what each key was in each snapshot. Readers read snapshots that are
// no longer the newest; a write is told of before its snapshot can be read, and some
// writes are never made. What is held is always what the snapshot says.
func TestWhatIsHeldIsWhatTheSnapshotSays(t *testing.T) {
	const keys = 5
	rapid.Check(t, func(rt *rapid.T) {
		on := shelf[int]{most: rapid.IntRange(2, 40).Draw(rt, "most")}
		snapshots := [][keys]int{{}} // values by key
		value := 0
		read := func() {
			at := max(0, len(snapshots)-1-rapid.IntRange(0, 3).Draw(rt, "back"))
			k := rapid.IntRange(0, keys-1).Draw(rt, "key")
			got, ok := on.get(fmt.Sprint(k), uint64(at))
			if ok && got != snapshots[at][k] {
				rt.Fatalf("key %d in snapshot %d is %d, held is %d", k, at, snapshots[at][k], got)
			}
			if ok {
				return
			}
			on.put(fmt.Sprint(k), uint64(at), snapshots[at][k], rapid.IntRange(1, 3).Draw(rt, "weight"))
		}
		for range rapid.IntRange(20, 200).Draw(rt, "steps") {
			if rapid.IntRange(0, 3).Draw(rt, "step") > 0 {
				read()
				continue
			}
			made, next := uint64(len(snapshots)), snapshots[len(snapshots)-1]
			for k := range next {
				if rapid.IntRange(0, 3).Draw(rt, "written") == 0 {
					value++
					next[k] = value
					on.written(fmt.Sprint(k), made)
				}
			}
			if rapid.IntRange(0, 19).Draw(rt, "all") == 0 {
				for k := range next {
					value++
					next[k] = value
				}
				on.writtenAll(made)
			}
			for range rapid.IntRange(0, 3).Draw(rt, "readers between") {
				read()
			}
			if rapid.IntRange(0, 4).Draw(rt, "fails") > 0 {
				snapshots = append(snapshots, next)
			}
		}
	})
}

func TestAShelfHoldsWhatIsAskedFor(t *testing.T) {
	on := shelf[string]{most: 100}
	on.put("always", 1, "there", 1)
	for i := range 1000 {
		on.put(fmt.Sprint(i), 1, "once", 1)
		if got, ok := on.get("always", 2); !ok || got != "there" {
			t.Fatalf("after %d others it is %q, %v", i, got, ok)
		}
	}
	held := 0
	for i := range 1000 {
		if _, ok := on.get(fmt.Sprint(i), 1); ok {
			held++
		}
	}
	if held > 100 {
		t.Errorf("%d are held, at most 100", held)
	}
	on.put("heavy", 1, "too much", 51)
	if _, ok := on.get("heavy", 1); ok {
		t.Error("what takes more than half the room is held")
	}
}
