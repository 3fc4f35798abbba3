package main

import "testing"

func TestTheSoftLimitLeavesRoomForGarbage(t *testing.T) {
	for _, c := range []struct {
		name       string
		live, want int64
	}{
		{"a small programme", 40 << 20, usualMemory},
		{"room is left under the usual limit", usualMemory - leastGarbage, usualMemory},
		{"a large programme is not one long collection", 900 << 20, 924 << 20},
	} {
		if got := softLimit(c.live); got != c.want {
			t.Errorf("%s: %d bytes, want %d", c.name, got, c.want)
		}
	}
	t.Setenv("GOMEMLIMIT", "500MiB")
	if newMemory(nil).limit != 0 {
		t.Error("the limit of whoever runs the program is not left alone")
	}
}

func TestMappedPagesAreReadFromTheKernelsFigures(t *testing.T) {
	for text, want := range map[string]int64{"302101 75912 4211 3107 0 88210 0\n": 4211, "1 2": 0, "": 0, "1 2 x": 0} {
		if got := mappedPages([]byte(text)); got != want {
			t.Errorf("%q: %d pages, want %d", text, got, want)
		}
	}
}
