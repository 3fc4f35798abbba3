//go:build unix && !linux

package cluster

import "os/exec"

// startTied starts a process. Only its test's end ends it.
func startTied(cmd *exec.Cmd) error { return cmd.Start() }
