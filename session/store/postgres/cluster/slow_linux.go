package cluster

import (
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// SlowSyncs has every sync of the server take longer by a delay, as on a disk that
// is busy or about to fail, until what it returns is called. It takes strace.
func (s *Server) SlowSyncs(t testing.TB, delay time.Duration) (fast func()) {
	t.Helper()
	args := []string{"-f", "-qq", "-o", "/dev/null", "-e", "trace=fdatasync,fsync",
		"-e", fmt.Sprintf("inject=fdatasync,fsync:delay_enter=%d", delay.Microseconds())}
	all := append(children(s.child.Pid), s.child.Pid)
	for _, pid := range all {
		args = append(args, "-p", strconv.Itoa(pid))
	}
	tracer := exec.Command("strace", args...)
	if err := tracer.Start(); err != nil {
		t.Fatalf("%v: this test needs strace (the Debian package strace)", err)
	}
	traced := func(pid int) bool {
		status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
		return err != nil || !strings.Contains(string(status), "TracerPid:\t0\n")
	}
	for deadline := time.Now().Add(startWithin); slices.ContainsFunc(all, func(pid int) bool { return !traced(pid) }); {
		if time.Now().After(deadline) {
			t.Fatal("the server cannot be traced")
		}
		<-time.After(10 * time.Millisecond)
	}
	fast = func() {
		_ = tracer.Process.Signal(os.Interrupt) // it lets go of them
		_ = tracer.Wait()
	}
	t.Cleanup(func() { _ = tracer.Process.Kill() })
	return fast
}
