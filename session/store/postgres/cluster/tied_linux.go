package cluster

import (
	"os/exec"
	"runtime"
	"syscall"
)

// startTied starts a process that ends with this one, however that ends. The
// kernel ties it to the thread that started it, which therefore stays.
func startTied(cmd *exec.Cmd) error {
	cmd.SysProcAttr.Pdeathsig = syscall.SIGQUIT // at once, without a checkpoint
	started := make(chan error)
	go func() {
		runtime.LockOSThread() // and never unlocked while the process lives
		started <- cmd.Start()
		if cmd.Process != nil {
			select {}
		}
	}()
	return <-started
}
