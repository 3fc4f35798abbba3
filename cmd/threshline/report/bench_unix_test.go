//go:build unix

package report

import (
	"bytes"
	"fmt"
	"io"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"threshline/grading/standard/standardtest"
)

// BenchmarkGradeLines grades JSON Lines on one core and reports lots for each second
// of its processor time, which other work on the machine does not take away: without
// and with the advice on a remedy, by a published table and by the demonstration's.
func BenchmarkGradeLines(b *testing.B) {
	const lots = 500
	in := someLots(lots)
	for _, id := range []string{"agmark-paddy", "mbuyu-hand"} {
		s, err := standardtest.ByID(id)
		if err != nil {
			b.Fatal(err)
		}
		for _, remedy := range []bool{false, true} {
			b.Run(fmt.Sprintf("%s/remedy=%v", id, remedy), func(b *testing.B) {
				g := ready(b, Grader{Standard: s, Form: JSON, Advise: remedy})
				b.SetBytes(int64(len(in)))
				b.ReportAllocs()
				begun := processor(b)
				for b.Loop() {
					if n, err := g.All(bytes.NewReader(in), io.Discard); n.Faults > 0 || err != nil {
						b.Fatal(n, err)
					}
				}
				b.ReportMetric(float64(lots*b.N)/(processor(b)-begun).Seconds(), "lots/s")
			})
		}
	}
}

// processor is the processor time that this process has used.
func processor(b *testing.B) time.Duration {
	b.Helper()
	var used unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
