package main

import "testing"

func TestTheSoftLimitLeavesRoomForGarbage(t *testing.T) {
	for _, c := range []struct {
		name       string
		live, want int64
	}{
		{"a small programme", 40 << 20, usualMemory},
		{"room is left under the usual limit", usualMemory - leastGarbage, usualMemory},
		{"a large programme is not one long collection", 900 << 20, 948 << 20},
	} {
		if got := softLimit(c.live); got != c.want {
			t.Errorf("%s: %d bytes, want %d", c.name, got, c.want)
		}
	}
	t.Setenv("GOMEMLIMIT", "500MiB")
	if newMemoryLimit() != nil {
		t.Error("the limit of whoever runs the program is not left alone")
	}
}
