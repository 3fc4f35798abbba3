package ledger_test

import (
	"bytes"
	"fmt"
	"os"
	"runtime/debug"
	"strconv"
	"testing"

	"threshline/grading"
	"threshline/session/ledger"
)

// resident reads one of the kernel's figures of this process's memory, MiB:
// VmRSS is what it holds now, VmHWM the most since forgetPeak.
func resident(b *testing.B, figure string) float64 {
	b.Helper()
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		b.Fatal(err)
	}
	for line := range bytes.Lines(status) {
		if rest, ok := bytes.CutPrefix(line, []byte(figure+":")); ok {
			kib, err := strconv.ParseFloat(string(bytes.Fields(rest)[0]), 64)
			if err != nil {
				b.Fatal(err)
			}
			return kib / 1024
		}
	}
	b.Fatalf("the kernel tells no %s", figure)
	return 0
}

// forgetPeak lets VmHWM begin again at what is held now.
func forgetPeak(b *testing.B) {
	b.Helper()
	if err := os.WriteFile("/proc/self/clear_refs", []byte("5"), 0); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkMemory says how much memory this process held at most, as the
// kernel counts it, while it did one after the other what the desk asks for,
// and how much was in use after each. The garbage collector is set as it comes.
func BenchmarkMemory(b *testing.B) {
	for _, n := range sizes {
		b.Run(fmt.Sprintf("checks=%d", n), func(b *testing.B) {
			for b.Loop() {
				debug.FreeOSMemory()
				l, _ := filled(b, n)
				view := l.View()
				step := func(name string, do func()) {
					forgetPeak(b)
					do()
					b.ReportMetric(resident(b, "VmHWM"), "MiB-most-"+name)
					debug.FreeOSMemory()
					b.ReportMetric(resident(b, "VmRSS"), "MiB-after-"+name)
				}
				step("loaded", func() {})
				step("summary", func() {
					view.Summary(ledger.Filter{})
					view.Summary(ledger.Filter{Districts: []string{"Kisima"}, Kind: ledger.LastCheck})
				})
				step("whatif", func() { view.WhatIf(ledger.Filter{}) })
				step("whatifs", func() { // with best remedies of their own
					for _, d := range districts {
						view.WhatIf(ledger.Filter{Districts: []string{d}})
					}
					for _, p := range []grading.ParameterID{"moisture", "chaff", "stones", "immature", "pest_damaged", "discoloured", "red"} {
						view.WhatIf(ledger.Filter{Deciding: p})
					}
				})
				step("quality", func() { view.Quality() })
				step("slips", func() {
					for range view.Slips(ledger.Filter{}) { // all, as an export does
					}
				})
			}
		})
	}
}
