package ledger

import "testing"

func TestAChunkKeepsTheCouplesAskedForLast(t *testing.T) {
	var k regraded
	seconds := []int{10, 11, 12, 13, 14}
	kept := map[int]*treated{}
	for first := range 9 {
		both := k.couples(first, seconds)
		if len(both) != len(seconds) {
			t.Fatalf("%d couples, want %d", len(both), len(seconds))
		}
		both[0].rank = append(both[0].rank, uint8(first))
		kept[first] = both[0]
		k.couples(0, seconds[:1]) // asked for again and again
		if len(k.both) > mostCouples {
			t.Errorf("%d couples are kept, want at most %d", len(k.both), mostCouples)
		}
	}
	if again := k.couples(0, seconds[:1]); again[0] != kept[0] {
		t.Error("what was asked for just now was let go")
	}
	if again := k.couples(1, seconds[:1]); again[0] == kept[1] || len(again[0].rank) != 0 {
		t.Error("what was not asked for the longest is still there")
	}
	if again := k.couples(8, seconds[:1]); again[0] != kept[8] {
		t.Error("the last one was let go")
	}
	many := make([]int, mostCouples+5)
	for i := range many {
		many[i] = 100 + i
	}
	if both := k.couples(1, many); len(both) != len(many) || len(k.both) != len(many) {
		t.Errorf("%d couples of %d asked for at once, %d kept", len(both), len(many), len(k.both))
	}
}
